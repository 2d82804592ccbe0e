"""In which months casks fall under a strength: by their own yearly fall and the error of gauges."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..array_types import Codes, Floats
from ..days import DAYS_A_YEAR
from .content import strength_on
from .yearly import Gauged, Rates, yearly_losses

DAYS_A_MONTH = DAYS_A_YEAR / 12.0


@dataclass(frozen=True, eq=False)
class Falls:
    """Months from the day asked until casks are under a strength, one row a cask.

    Attributes
    ----------
    expected, earliest, latest
        Infinite where that is beyond what was looked at. Nine in ten casks fall between the
        earliest and the latest; below 0 is before the day asked, at its last gauge at the soonest.
    """

    expected: Floats
    earliest: Floats
    latest: Floats


def falls_under(gauged: Gauged, floor_abv_percent: float, *, months: int) -> Falls:
    """Look month by month when casks fall under a strength.

    Parameters
    ----------
    gauged
        The casks, moved to the day asked (`since_years`).
    floor_abv_percent
        The strength, % vol.
    months
        How far is looked.

    Notes
    -----
    Strength on each day and its ends are those of `content.contents_on`, so a cask is said to be
    under it here on the day on which it is there. What casks lose a year is learnt once, of all.
    """
    found = Falls(*(np.full(len(gauged.abv_percent), np.inf) for _ in range(3)))
    rate = yearly_losses(gauged, of_strength=True)
    _look(found, (gauged, rate), floor_abv_percent, range(months + 1))
    passed = np.flatnonzero(found.earliest <= 0.0)
    if len(passed):
        some = Gauged(*_cut(gauged, passed))
        back = int(np.ceil(float(some.since_years.max(initial=0.0)) * 12.0))
        before = Falls(*(np.full(len(passed), np.inf) for _ in range(3)))
        _look(before, (some, Rates(*_cut(rate, passed))), floor_abv_percent, range(-back, 1))
        for whole, part in zip(_months(found), _months(before), strict=True):
            whole[passed] = np.minimum(whole[passed], part)
    return found


def _months(falls: Falls) -> tuple[Floats, Floats, Floats]:
    return falls.expected, falls.earliest, falls.latest


def _cut(columns: Gauged | Rates, rows: Codes) -> Iterator[NDArray[Any]]:
    """Give each column of some rows."""
    return (getattr(columns, each.name)[rows] for each in fields(columns))


def _look(
    found: Falls, casks: tuple[Gauged, Rates], floor_abv_percent: float, months: range
) -> None:
    """Write down the first of some months in which each cask is under the strength."""
    gauged, rate = casks
    for month in months:
        years = np.maximum(gauged.since_years + month * DAYS_A_MONTH / DAYS_A_YEAR, 0.0)
        expected, low, high = strength_on(replace(gauged, since_years=years), rate)
        for when, abv in (
            (found.expected, expected),
            (found.earliest, low),
            (found.latest, high),
        ):
            fallen = (abv < floor_abv_percent) & ~np.isfinite(when)
            when[fallen] = month
