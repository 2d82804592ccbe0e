"""From a profile and the records of its casks to curves and windows."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import pandas as pd
import threadpoolctl

from ..errors import InputError
from ..influences import Factor, Fits, Rests, fit_profile
from ..influences.covariates import check_draws, why_not
from ..influences.estimate import LEAST_SESSIONS
from ..influences.fits import check_descriptors
from ..influences.moves import claims_of
from ..influences.note_fits import NoteFit
from ..influences.searched import Search, search_anew
from ..profile import Profile
from ..target import Target
from ..target.candidates import current_draws
from ..under_way import Stage, step
from .curves import STYLE, cask_curves, style_curves, style_table
from .found_now import with_found
from .learning import draws_to_learn_from
from .on_day import NotesOnDay, notes_on_day
from .result import Ageing, Curve, Window
from .settings import AgeingSettings
from .windows import windows_of


@dataclass(frozen=True)
class Asked:
    """What is asked of ageing; None for all.

    Attributes
    ----------
    make, wood
        Names or parts of names, small and capital letters alike.
    casks
        Casks by number: their own curves are drawn instead of their styles'.
    descriptors
        Descriptors wanted in the curves.
    """

    make: str | None = None
    wood: str | None = None
    casks: tuple[str, ...] = ()
    descriptors: tuple[str, ...] = ()


def estimate_ageing(
    profile: Profile,
    draws: pd.DataFrame,
    *,
    stock: pd.DataFrame,
    as_of: date,
    targets: Sequence[Target] = (),
    asked: Asked = Asked(),
    settings: AgeingSettings = AgeingSettings(),  # noqa: B008  (frozen)
    seed: int = 1,
    search: Search = search_anew,
    usable: pd.DataFrame | None = None,
) -> Ageing:
    """Draw how styles and casks grow with age, and say when casks meet targets.

    Wood gives as ``1 - exp(-age / T)``, smoke fades as ``2^(-age / h)``, averaged over a grid of
    both; each cask has a level, a liveliness and a smoke of its own. Nothing is foretold beyond
    three years from the date asked, nor beyond the ages nosed in a wood by more than three years
    or a quarter of their span.

    Parameters
    ----------
    profile
        What the samples are.
    draws
        What is known of each draw, see :mod:`analysis.influences.covariates`.
    stock
        The same of casks as they are on `as_of` (`sample` being the filling).
    as_of
        The date asked.
    targets
        Targets that casks may come to meet.
    asked
        Which styles, casks and descriptors.
    settings, seed
        See :class:`AgeingSettings`; the seed is kept with the answer, in which nothing is drawn.
    search
        What was found before, see :mod:`analysis.influences.searched`.
    usable
        Those of the stock that a match would choose among: their draws tell how the casks of the
        house are spread; all of it by default.

    Raises
    ------
    FrameError
        With every fault of a frame.
    TooLittleError
        Too few casks were nosed.
    InputError
        No such make, wood, cask or descriptor; with the nearest names.
    """
    present = check_draws(stock)
    _check_names(profile, draws, present, asked)
    needed = _needed(targets, asked)
    fits = fit_profile(
        profile, draws, descriptors=needed, settings=settings.influences, search=search
    )
    present = fits.stock(present)
    chosen = _chosen(present, asked)
    reason = why_not(chosen)
    known = chosen[reason.isna()].reset_index(drop=True)
    left_out = {
        f"cask {cask}": str(why)
        for cask, why in zip(chosen.loc[reason.notna(), "cask"], reason.dropna(), strict=True)
    }
    with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
        curves, thin = _curves(fits, known, as_of, asked, settings)
        moved = () if asked.casks or targets else moved_by_age(fits)
        lines = [line.descriptor for target in targets for line in target.lines]
        windows = []
        if targets:
            notes = notes_on_day(
                *(profile, draws, stock, as_of),
                descriptors=lines,
                settings=settings,
                fits=fits if draws_to_learn_from(draws, profile.estimates) is draws else None,
                search=search,
            )
            house, _ = current_draws(profile.estimates, stock if usable is None else usable)
            windows = _windows(notes, known, targets, settings, house["sample"].tolist())
            if asked.casks and len(known):
                curves = list(with_found(curves, notes, known))
    return Ageing(
        curves=tuple(curves),
        windows=tuple(windows),
        evidence=tuple(fit.evidence for fit in fits.fits),
        left_out={**left_out, **({} if targets else thin), **fits.reasons},
        warnings=tuple(_warnings(fits)),
        as_of=as_of,
        level=settings.influences.level,
        seed=seed,
        moved_by_age=moved,
    )


def moved_by_age(fits: Fits) -> tuple[str, ...]:
    """Descriptors that age may be said to move, as `estimate_influences` would say it.

    A curve always rises or falls, and its own interval knows nothing of how many were looked at.
    """
    held = claims_of(fits.readings, fits.draws, fits.separation, fits.settings)
    names = (fit.note.descriptor for fit in fits.fits)
    return tuple(sorted(name for name in names if held.holds(name, Factor.AGE)))


def _needed(targets: Sequence[Target], asked: Asked) -> tuple[str, ...] | None:
    """Descriptors to fit; None for all. Who asks for a target alone wants its notes only."""
    if asked == Asked(asked.make, asked.wood) and not targets:
        return None
    if asked.casks and not asked.descriptors:
        return None
    lines = (line.descriptor for target in targets for line in target.lines)
    return tuple({*asked.descriptors, *lines})


def _check_names(profile: Profile, draws: pd.DataFrame, stock: pd.DataFrame, asked: Asked) -> None:
    check_descriptors(profile, asked.descriptors)
    for word, column, given in (("make", "make", asked.make), ("wood", "wood", asked.wood)):
        names = {str(name) for frame in (stock, draws) for name in frame[column].dropna().unique()}
        if given is not None and not any(_matches(name, given) for name in names):
            raise InputError(f"There is no {word} {given!r}.{_near(given, names)}")
    casks = {str(name) for name in stock["cask"]} if asked.casks else set()
    for cask in asked.casks:
        if cask not in casks:
            raise InputError(f"There is no cask {cask!r} in stock.{_near(cask, casks)}")


def _matches(name: str, given: str) -> bool:
    return given.casefold() in name.casefold()


def _near(given: str, names: Iterable[str]) -> str:
    lower = {name.casefold(): name for name in names}
    found = [lower[hit] for hit in difflib.get_close_matches(given.casefold(), lower, 3, 0.4)]
    return f" The nearest are {', '.join(found)}." if found else ""


def _chosen(stock: pd.DataFrame, asked: Asked) -> pd.DataFrame:
    keep = pd.Series(True, index=stock.index)
    for column, given in (("make", asked.make), ("wood", asked.wood)):
        if given is not None:
            keep &= stock[column].map(lambda name, g=given: _matches(str(name), g))
    if asked.casks:
        keep &= stock["cask"].isin(asked.casks)
    return stock[keep].reset_index(drop=True)


def _curves(
    fits: Fits, known: pd.DataFrame, as_of: date, asked: Asked, settings: AgeingSettings
) -> tuple[list[Curve], dict[str, str]]:
    wanted = [
        f for f in fits.fits if not asked.descriptors or f.note.descriptor in asked.descriptors
    ]
    if asked.casks:
        return [c for fit in _told(wanted) for c in cask_curves(fit, known, as_of, settings)], {}
    styles = _chosen(style_table(fits.draws), Asked(make=asked.make, wood=asked.wood))
    thin: dict[str, str] = {}
    if asked.make is None and asked.wood is None:
        few = styles["n_casks"] < settings.least_casks_a_style
        for row in styles[few].itertuples(index=False):
            make, wood, fill = (getattr(row, name) for name in STYLE)
            thin[f"{make}, {wood}, fill {int(fill)}"] = (
                f"nosed on fewer than {settings.least_casks_a_style} of its casks: ask for it by "
                "make or wood"
            )
        styles = styles[~few].reset_index(drop=True)
    return list(style_curves(_told(wanted), styles, settings)), thin


def _told(fits: Sequence[NoteFit]) -> Iterator[NoteFit]:
    """Give fits one after the other, and tell how many of them are done."""
    for done, fit in enumerate(fits):
        step(Stage.AGEING, done, len(fits))
        yield fit
    step(Stage.AGEING, len(fits), len(fits))


def _windows(
    notes: NotesOnDay,
    known: pd.DataFrame,
    targets: Sequence[Target],
    settings: AgeingSettings,
    house: Sequence[str],
) -> list[Window]:
    found = [
        window for target in targets for window in windows_of(target, notes, known, settings, house)
    ]
    return sorted(found, key=lambda w: (w.target, -(w.best_chance or -1.0), w.cask))


def _warnings(fits: Fits) -> list[str]:
    said = [] if fits.note is None else [fits.note]
    if fits.n_sessions is not None and fits.n_sessions < LEAST_SESSIONS:
        evenings = "one session" if fits.n_sessions == 1 else f"{fits.n_sessions} sessions"
        said.append(f"All this is from {evenings}: what belonged to the evening is in it.")
    if fits.draws["wood"].nunique() == 1:
        said.append(f"All casks nosed are of one wood ({fits.draws['wood'].iloc[0]}).")
    alone = [f.note.descriptor for f in fits.fits if f.evidence.used is Rests.AGES]
    if alone:
        said.append(
            f"Hardly a cask was drawn again and nosed on {', '.join(alone)}: what looks like age "
            "there may be the vintage. Draw the same casks again."
        )
    return said
