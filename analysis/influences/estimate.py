"""From a profile and the records of its casks to what wood, age, peat and strength do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from statistics import NormalDist

import numpy as np
import pandas as pd
import threadpoolctl

from ..profile import Profile
from .comparisons import Comparisons
from .covariates import check_draws
from .factors import Factor
from .fits import Fits, check_descriptors, fit_profile
from .ground import Ground
from .moves import Claims, claims_of
from .note_fits import NoteFit
from .pls_map import draw_map
from .power import predictive_power
from .predict import COLUMNS, foretell_stock, never_nosed
from .result import Effect, Influences, NoteInfluences
from .searched import Search, search_anew
from .settings import InfluenceSettings
from .words import note_sentence

QUESTION = {Factor.WOOD_FILL: Factor.FILL, Factor.AGE_IN_WOOD: Factor.AGE}
"""Which test answers for a comparison that is not the main one of its influence."""
LEAST_SESSIONS = 3
"""With fewer the figures carry a warning."""


def estimate_influences(
    profile: Profile,
    draws: pd.DataFrame,
    *,
    stock: pd.DataFrame | None = None,
    descriptors: Sequence[str] | None = None,
    settings: InfluenceSettings = InfluenceSettings(),  # noqa: B008  (frozen)
    with_map: bool = True,
    search: Search = search_anew,
) -> Influences:
    """Estimate what wood, previous contents, fill, age, peat, strength, warehouse and make do.

    One mixed model a descriptor on what was read of each draw, with the noise of the reading
    known: wood by fill partially pooled, growth with age of each wood, smoke that fades, fill
    strength, warehouse, previous contents, make and filling batch as random, and a level and
    liveliness of each cask's own. Averaged over the ways of growing and fading.

    Parameters
    ----------
    profile
        What the samples are.
    draws
        What is known of each draw, see :mod:`analysis.influences.covariates`.
    stock
        The same of casks as they are now; those never nosed are foretold.
    descriptors
        Those wanted; all by default.
    settings
        See :class:`InfluenceSettings`.
    with_map
        Whether to lay out the map of descriptors and influences.
    search
        What was found before, see :mod:`analysis.influences.searched`.

    Returns
    -------
    Influences
        Effects in points of the 0-100 line, with intervals.

    Raises
    ------
    FrameError
        With every fault of the draws frame.
    TooLittleError
        Too few casks were nosed.
    InputError
        A descriptor that was never scored, with the nearest names.

    Notes
    -----
    Which effects to read: `estimate` with `low` and `high` is a difference between otherwise
    equal casks at the ages at which both were nosed. Where it is None the `note` says what
    stands in the way and what to nose. An influence is said to move a note only if it holds
    over all notes and influences together, see :mod:`analysis.influences.moves`; the intervals
    of those are widened for having been picked.
    """
    check_descriptors(profile, descriptors or ())
    fits = fit_profile(profile, draws, descriptors=descriptors, settings=settings, search=search)
    with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
        held = claims_of(fits.readings, fits.draws, fits.separation, settings)
        parts = list(_descriptions(fits, held))
        shown = draw_map(fits.draws, fits.readings) if with_map else None
    notes = [note for note, _ in parts] + list(_unfitted(fits))
    predictions = pd.DataFrame(columns=COLUMNS)
    if stock is not None:
        unknown = never_nosed(profile, check_draws(stock))
        predictions = foretell_stock(fits, unknown)
    return Influences(
        effects=tuple(effect for _, effects in parts for effect in effects),
        notes=tuple(sorted(notes, key=lambda note: note.descriptor)),
        separation=fits.separation,
        map=shown,
        predictions=predictions,
        level=settings.level,
        n_casks=int(fits.draws["cask"].nunique()),
        n_draws=len(fits.draws),
        left_out=fits.left_out,
        claims=held,
        warnings=tuple(_warnings(fits)),
    )


def _descriptions(fits: Fits, held: Claims) -> Iterator[tuple[NoteInfluences, tuple[Effect, ...]]]:
    compared: dict[int, Comparisons] = {}
    for fit in fits.fits:
        if fit.pattern not in compared:
            ground = Ground(fit.note.terms, fit.draws, fits.separation, fits.settings)
            compared[fit.pattern] = Comparisons(ground)
        yield _describe(fit, compared[fit.pattern], held)


def _describe(
    fit: NoteFit, comparisons: Comparisons, held: Claims
) -> tuple[NoteInfluences, tuple[Effect, ...]]:
    spread = fit.note.cask_sd(
        float(fit.draws["age_years"].median()), float(fit.draws["phenol_ppm"].median())
    )
    effects = (*_effects(fit, comparisons, held), _between_casks(fit, spread))
    power = predictive_power(fit.note, fit.residual, fit.casks, fit.batches)
    ways, n_casks = fit.note.ways, int(fit.draws["cask"].nunique())
    smoky = fit.note.terms.levels.ppm_ref is not None
    constant = float(np.exp(sum(w.weight * np.log(w.way.time_constant_years) for w in ways)))
    half_life = float(np.exp(sum(w.weight * np.log(w.way.half_life_years) for w in ways)))
    note = NoteInfluences(
        descriptor=fit.note.descriptor,
        sentence=note_sentence(fit.note.descriptor, effects, power, held, n_casks),
        n_casks=n_casks,
        n_draws=len(fit.draws),
        q2_cask=power.q2_cask,
        q2_batch=power.q2_batch,
        ceiling=power.ceiling,
        off_by_points=power.off_by_points,
        time_constant_years=constant,
        half_life_years=half_life if smoky else None,
        cask_sd_points=spread,
        shape_note=fit.shape.note,
        reason=power.reason,
    )
    return note, effects


def _effects(fit: NoteFit, comparisons: Comparisons, held: Claims) -> Iterator[Effect]:
    single = _quantile(comparisons.ground.settings.level)
    picked = max(single, _quantile(held.level))
    mean, sd = fit.note.contrasts(comparisons.rows)
    for part, middle, error in zip(comparisons.all, mean.tolist(), sd.tolist(), strict=True):
        told = part.plus is not None
        holds = held.holds(fit.note.descriptor, QUESTION.get(part.factor, part.factor))
        half = error * (picked if holds else single)
        yield Effect(
            descriptor=fit.note.descriptor,
            factor=part.factor,
            level=part.level,
            against=part.against,
            estimate=middle if told else None,
            low=middle - half if told else None,
            high=middle + half if told else None,
            n_casks=part.n_casks,
            note=part.note,
            holds=holds,
        )


def _quantile(level: float) -> float:
    return NormalDist().inv_cdf(0.5 + 0.5 * level)


def _between_casks(fit: NoteFit, spread: float) -> Effect:
    return Effect(
        descriptor=fit.note.descriptor,
        factor=Factor.CASK,
        level="casks alike in all this",
        against="each other",
        estimate=spread,
        low=None,
        high=None,
        n_casks=int(fit.draws["cask"].nunique()),
        note="standard deviation between them; it has no sign, and no interval is reckoned",
    )


def _unfitted(fits: Fits) -> Iterator[NoteInfluences]:
    for name, reason in fits.reasons.items():
        rows = fits.readings[fits.readings["descriptor"] == name]
        casks = fits.draws.loc[fits.draws["sample"].isin(rows["sample"]), "cask"].nunique()
        yield NoteInfluences(
            descriptor=name,
            sentence=f"{name}: nothing can be told, {reason}.",
            n_casks=int(casks),
            n_draws=len(rows),
            reason=reason,
        )


def _warnings(fits: Fits) -> Iterator[str]:
    if fits.note is not None:
        yield fits.note
    if fits.n_sessions is not None and fits.n_sessions < LEAST_SESSIONS:
        evenings = "one session" if fits.n_sessions == 1 else f"{fits.n_sessions} sessions"
        yield f"All this is from {evenings}: what belonged to the evening is in it. Hold more."
    if fits.separation.condition_number > fits.settings.condition_limit:
        yield (
            "Some influences go together in the casks nosed (condition number "
            f"{fits.separation.condition_number:.0f}): they cannot be separated, see each."
        )
    if fits.draws["wood"].nunique() == 1:
        yield f"All casks nosed are of one wood ({fits.draws['wood'].iloc[0]})."
    if fits.draws["batch"].nunique() < 3:
        yield "All casks nosed are of one or two filling batches: what is the batch's own is in it."
