"""Rank casks by how surely they suit a target."""

from __future__ import annotations

import difflib
from typing import Any

import numpy as np
import pandas as pd
import scipy.special

from ..array_types import Codes, Matrix, Vector
from ..errors import UnknownDescriptorError
from ..profile.result import Profile
from .bent import OnLines, chance_bent
from .candidates import Candidates, complete, current_draws
from .chance import HOPELESS, chance_within
from .lines import lines_of
from .nearest import sureness
from .result import CaskMatch, Match
from .target import Target
from .verdict import sure_beside_best, sure_sentence

_LEAST_TOLD = 1e-4
"""Chances below this one are too small to be told apart: such casks are ordered by distance."""
CHOOSING, TOLD = 1, 2
"""Lattices behind an order and behind the chances that are told: the first of many is first partly
by its lattice."""


def match_casks(
    profile: Profile,
    target: Target,
    *,
    casks: pd.DataFrame | None = None,
    top: int | None = None,
    draws: int = 2000,
    seed: int = 1,
) -> Match:
    """Rank nosed casks by the chance that they are within every tolerance of a target.

    Of each cask the latest draw of its current filling counts. Ranked by probability, then by
    expected distance: the nearest estimate alone would reward casks that were nosed little.

    Parameters
    ----------
    profile
        What the samples are.
    target
        Aims, tolerances and weights on the 0-100 line.
    casks
        A casks frame (see :mod:`analysis`); it says which filling is current. Without it the
        filling nosed last is taken for current.
    top
        Show so many casks only; all by default.
    draws, seed
        Draws from the estimates behind the sentence on how sure the list is, and their seed.

    Returns
    -------
    Match
        Casks that lack a descriptor of the target are listed apart with the reason, as are
        those in sessions that nothing ties to the others.

    Raises
    ------
    UnknownDescriptorError
        When the target names a descriptor without any score; with the nearest names.
    FrameError
        When the casks frame lacks ``cask`` or ``filling``.

    Notes
    -----
    With estimates m, standard errors s, aims t, tolerances h and weights w (made to add up to
    one), the distance is ``sum w ((m - t)^2 + s^2) / h^2``, the expectation of the weighted
    squared distance in tolerances. The probability is that of the lines, whose errors go
    together, to lie between ``t - h`` and ``t + h`` on each; what lies beyond an end of the line
    counts as lying on that end. Where eight casks or more were nosed, m, s and the chance are
    those of casks spread as the house shows them (:mod:`analysis.profile.bends`), not of a
    normal; how far the worst line is off is told of the estimates themselves. Casks are ordered
    by that probability; those that have hardly any, by the distance.

    Examples
    --------
    >>> from oakpanel.analysis.profile import estimate_profile
    >>> from oakpanel.analysis.target import TargetLine
    >>> rng = np.random.default_rng(3)
    >>> rows = [
    ...     {"session": "S1", "assessor": a, "sample": s, "cask": f"cask {s}", "replicate": r,
    ...      "descriptor": "smoke", "score": level + rng.normal(0, 3)}
    ...     for a in "ABCDEF" for s, level in [("x", 20), ("y", 45), ("z", 70)] for r in (1, 2)
    ... ]
    >>> profile = estimate_profile(pd.DataFrame(rows))
    >>> found = match_casks(profile, Target("Fen", (TargetLine("smoke", 44, 6),)))
    >>> [part.cask for part in found.casks], found.casks[0].probability > 0.9
    (['cask y', 'cask x', 'cask z'], True)
    """
    _known(profile, target)
    samples, left_out = current_draws(profile.estimates, casks)
    candidates, lacking = complete(profile, samples, target)
    order, distance = _order(candidates, target)
    shown = _told(candidates, target, order if top is None else order[: max(top, 1)], distance)
    sure = sureness(candidates, target, order, shown[0] if shown else None, draws, seed)
    names = {line.descriptor for line in target.lines}
    two_ways = [note.descriptor for note in profile.camps if note.descriptor in names]
    sentence, action = sure_sentence(sure, two_ways)
    some = sure.best is not None
    return Match(
        target=target.name,
        sentence=sentence,
        next_action=action,
        beside_best=sure_beside_best(sure, two_ways),
        casks=tuple(shown[:top]),
        left_out=tuple(sorted([*left_out, *lacking], key=lambda part: (part.cask, part.sample))),
        n_ranked=len(order),
        best_is_best=sure.best_is_best if some else None,
        first_hold_best=sure.first_hold_best if some else None,
        n_distinguishable=sure.n_distinguishable if some else None,
        seed=seed,
        note=profile.note_on([line.descriptor for line in target.lines]),
        beside_first=sure.alike,
    )


def _known(profile: Profile, target: Target) -> None:
    names = list(profile.descriptors)
    unknown = [line.descriptor for line in target.lines if line.descriptor not in names]
    if unknown:
        lower = {name.lower(): name for name in names}
        nearest = {
            name: [lower[hit] for hit in difflib.get_close_matches(name.lower(), lower, 3, 0.5)]
            for name in unknown
        }
        raise UnknownDescriptorError(target.name, nearest)


def _order(candidates: Candidates, target: Target) -> tuple[Codes, Vector]:
    """The casks best first, and the expected distance of each."""
    aim, tolerance, weight = lines_of(target)
    off = (candidates.estimate - aim) / tolerance
    distance = (off**2 + (candidates.se / tolerance) ** 2) @ weight
    chance = chance_of_casks(target, candidates, seed=CHOOSING)
    told_apart = np.where(chance < _LEAST_TOLD, 0.0, chance)
    names = candidates.about["cask"].to_numpy(dtype=str)
    return np.lexsort((names, distance, -told_apart)), distance


def _told(
    candidates: Candidates, target: Target, places: Codes, distance: Vector
) -> list[CaskMatch]:
    """What is said of some of the casks."""
    aim, tolerance, _ = lines_of(target)
    off = (candidates.told[places] - aim) / tolerance
    worst = np.abs(off).argmax(axis=1)
    chance = chance_of_casks(target, candidates.only(places))
    rows: list[Any] = list(candidates.about.iloc[places].itertuples())
    return [
        CaskMatch(
            cask=str(row.cask),
            filling=None if pd.isna(row.filling) else str(row.filling),
            sample=str(row.sample),
            probability=float(chance[i]),
            distance=float(distance[place]),
            worst_descriptor=target.lines[worst[i]].descriptor,
            worst_off=float(off[i, worst[i]]),
            n_scores=int(candidates.n_scores[place]),
            last_nosed=None if pd.isna(row.last_nosed) else row.last_nosed.date(),
        )
        for i, (place, row) in enumerate(zip(places, rows, strict=True))
    ]


def chance_of_casks(
    target: Target, casks: OnLines, *, rows: Codes | None = None, seed: int = TOLD
) -> Vector:
    """Chance that every line of each cask is within tolerance, by the spread of their house.

    The one home of that figure, on whatever day.

    Parameters
    ----------
    casks
        As their spread has them, in the order of the lines.
    rows
        Which cask of their `bends` each is, where one stands there on several days.
    seed
        As in :func:`chance_of_lines`.
    """
    if casks.bends is None:
        whole = casks.own + np.diag(casks.common)
        return chance_of_lines(target, casks.estimate, whole, seed=seed)
    return chance_bent(casks, casks.bends, *ends_of(target), seed, rows)


def chance_of_lines(
    target: Target, mean: Matrix, covariance: Matrix, *, seed: int = TOLD
) -> Vector:
    """Chance that every line is within tolerance, of liquids with joint normal notes.

    What lies beyond an end of the line counts as lying on it.

    Parameters
    ----------
    target
        Aims and tolerances.
    mean, covariance
        In the order of its lines, shapes (n, lines) and (n, lines, lines).
    seed
        `CHOOSING` where it decides which of them comes first, `TOLD` where it is told.
    """
    low, high = ends_of(target)
    alone = chance_alone(target, mean, np.einsum("idd->id", covariance))
    # No joint chance is above that of a line alone: most of a large stock needs no more than that.
    found: Vector = alone.prod(axis=1)
    near = np.flatnonzero(alone.min(axis=1) >= HOPELESS)
    found[near] = chance_within(mean[near], covariance[near], low, high, seed)
    return found


def chance_alone(target: Target, mean: Matrix, variance: Matrix) -> Matrix:
    """Chance of each line by itself to be within tolerance, shape (n, lines)."""
    low, high = ends_of(target)
    sd = np.sqrt(np.maximum(variance, 1e-18))
    found: Matrix = scipy.special.ndtr((high - mean) / sd) - scipy.special.ndtr((low - mean) / sd)
    return found


def ends_of(target: Target) -> tuple[Matrix, Matrix]:
    """Ends of the tolerances; infinite where that is beyond an end of the line."""
    aim, tolerance, _ = lines_of(target)
    low, high = aim - tolerance, aim + tolerance
    return np.where(low <= 0.0, -np.inf, low), np.where(high >= 100.0, np.inf, high)
