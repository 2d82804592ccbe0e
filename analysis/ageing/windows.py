"""When a cask meets a target: the chance, date by date, that every line is within tolerance.

The notes are those of `analysis.ageing.on_day`, moved on from date to date, and the chance is
reckoned as that of a match (`analysis.ageing.spread`): a window opens with what `match` says of the
cask on the same day.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd

from ..age_words import age_figure
from ..array_types import Codes, Matrix, Stack, Vector
from ..days import DAYS_A_YEAR
from ..digits import in_digits
from ..influences import NoteFit
from ..influences.predict import age_limits
from ..target import Target, TargetLine
from .curves import STYLE
from .moves import AtAges
from .on_day import NotesOnDay
from .result import Window
from .settings import AgeingSettings
from .spread import Spread

AT_ONCE = 64
"""Casks reckoned together: enough to be quick, few enough to be small."""


def window_dates(as_of: date, settings: AgeingSettings) -> list[date]:
    """Dates looked at, from the date asked to the end of what may be said."""
    months = round(12 * settings.years_ahead)
    steps = range(0, months + 1, settings.months_apart)
    return [(pd.Timestamp(as_of) + pd.DateOffset(months=step)).date() for step in steps]


def windows_of(
    target: Target,
    notes: NotesOnDay,
    stock: pd.DataFrame,
    settings: AgeingSettings,
    house: Sequence[str],
) -> Iterator[Window]:
    """Windows of some casks for one target.

    Parameters
    ----------
    notes
        What the casks are on the date asked, and how they move from there.
    stock
        Casks at their age on that date.
    house
        The draws that tell how the casks of the house are spread, one a cask, as in a match.
    """
    moves = notes.moves
    models = {} if moves.fits is None else {fit.note.descriptor: fit for fit in moves.fits.fits}
    lacking = [line.descriptor for line in target.lines if line.descriptor not in models]
    if lacking:
        why = "; ".join(f"{name}: {notes.reasons.get(name, 'never scored')}" for name in lacking)
        for row in stock.itertuples(index=False):
            yield _window(target, row, 0, f"no curve of {why}")
        return
    chosen = [models[line.descriptor] for line in target.lines]
    dates = window_dates(notes.day, settings)
    years = np.array([(day - notes.day).days / DAYS_A_YEAR for day in dates])
    limits = _common_limits(chosen)
    ages = stock["age_years"].to_numpy(dtype=np.float64)[:, None] + years
    fillings = [str(name) for name in stock["filling"]]
    places = np.array([notes.places[name] for name in fillings], dtype=np.intp)
    spread = Spread.of(notes, target, fillings, house)
    for start in range(0, len(stock), AT_ONCE):
        some = np.arange(start, min(start + AT_ONCE, len(stock)))
        chance, off = _chances(spread, moves.at(ages[some], places[some]), some)
        for i, row in enumerate(stock.iloc[some].itertuples(index=False)):
            blank = _window(target, row, notes.n_draws.get(str(row.filling), 0))
            low, high = limits.get(str(row.wood), (np.inf, -np.inf))
            mine = ages[start + i]
            n_dates = int((mine <= high).sum()) if mine[0] >= low else 0
            if n_dates == 0:
                yield _too_far(blank, str(row.wood), limits)
                continue
            yield _judge(
                blank,
                *(chance[i, :n_dates], off[:, i, :n_dates], dates[:n_dates]),
                cut_short=n_dates < len(dates),
                settings=settings,
                lines=target.lines,
            )


def _chances(spread: Spread, found: AtAges, casks: Codes) -> tuple[Matrix, Stack]:
    """Chance of every line being within tolerance, shape (k, dates), and how far each is off.

    The latter in tolerances, shape (lines, k, dates).
    """
    n, dates, notes = found.mean.shape
    chance = spread.chance(
        found.mean.reshape(-1, notes),
        found.own.reshape(-1, notes, notes),
        np.repeat(casks, dates),
    )
    aim, tolerance = (
        np.array([getattr(line, name) for line in spread.target.lines])
        for name in ("aim", "tolerance")
    )
    off = np.abs(found.mean[..., spread.columns] - aim) / tolerance
    return chance.reshape(n, dates), np.moveaxis(off, -1, 0)


def _window(target: Target, row: object, n_draws: int, reason: str | None = None) -> Window:
    cask, filling, age = (getattr(row, name) for name in ("cask", "filling", "age_years"))
    make, wood, fill = (getattr(row, name) for name in STYLE)
    return Window(
        target=target.name,
        cask=str(cask),
        filling=str(filling),
        style=f"{make}, {wood}, fill {int(fill)}",
        age_years=float(age),
        n_draws=n_draws,
        now_chance=None,
        best_on=None,
        best_chance=None,
        opens=None,
        closes=None,
        looked_until=None,
        worst_descriptor=None,
        reason=reason,
    )


def _common_limits(fits: Sequence[NoteFit]) -> dict[str, tuple[float, float]]:
    """Ages at which every descriptor of a target may be spoken of, wood by wood."""
    each = [age_limits(fit.draws) for fit in fits]
    woods = set.intersection(*(set(limits) for limits in each))
    return {
        wood: (max(part[wood][0] for part in each), min(part[wood][1] for part in each))
        for wood in woods
    }


def _too_far(blank: Window, wood: str, limits: Mapping[str, tuple[float, float]]) -> Window:
    if wood not in limits:
        return replace(blank, reason=f"no {wood} was nosed on every note of the target")
    low, high = limits[wood]
    return replace(
        blank,
        reason=(
            f"at {age_figure(blank.age_years)} years it is outside what is known of {wood} "
            f"({in_digits(low, '.1f')} to {in_digits(high, '.1f')} years): nose it, or one as old"
        ),
    )


def _judge(
    blank: Window,
    chance: Vector,
    off: Matrix,
    dates: Sequence[date],
    *,
    cut_short: bool,
    settings: AgeingSettings,
    lines: Sequence[TargetLine],
) -> Window:
    """Say when one cask meets a target, from its chance on each date."""
    best = int(chance.argmax())
    run = _run(chance >= settings.least_chance, best)
    found = replace(
        blank,
        now_chance=float(chance[0]),
        best_on=dates[best],
        best_chance=float(chance[best]),
        looked_until=dates[-1],
        worst_descriptor=lines[int(off[:, best].argmax())].descriptor,
    )
    if run is None:
        return replace(
            found, reason=f"the chance never reaches {in_digits(settings.least_chance, '.2f')}"
        )
    first, last = run
    still = last == len(dates) - 1
    end = "it may go on: nothing is known of such an age" if cut_short else "it may go on"
    return replace(found, opens=dates[first], closes=dates[last], note=end if still else None)


def _run(enough: np.ndarray, best: int) -> tuple[int, int] | None:
    """First and last of the unbroken run of dates around the best one."""
    if not enough[best]:
        return None
    first = last = best
    while first > 0 and enough[first - 1]:
        first -= 1
    while last < len(enough) - 1 and enough[last + 1]:
        last += 1
    return first, last
