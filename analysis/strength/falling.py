"""In which months casks fall under a strength: by their own yearly fall and the error of gauges."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from ..array_types import Floats
from ..days import DAYS_A_YEAR
from .content import Gauged, contents_on

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
    under it here on the day on which it is there.
    """
    found = Falls(*(np.full(len(gauged.abv_percent), np.inf) for _ in range(3)))
    _look(found, gauged, floor_abv_percent, range(months + 1))
    passed = np.flatnonzero(found.earliest <= 0.0)
    if len(passed):
        some = Gauged(*(getattr(gauged, each.name)[passed] for each in fields(Gauged)))
        back = int(np.ceil(float(some.since_years.max(initial=0.0)) * 12.0))
        before = Falls(*(np.full(len(passed), np.inf) for _ in range(3)))
        _look(before, some, floor_abv_percent, range(-back, 1))
        for whole, part in zip(_months(found), _months(before), strict=True):
            whole[passed] = np.minimum(whole[passed], part)
    return found


def _months(falls: Falls) -> tuple[Floats, Floats, Floats]:
    return falls.expected, falls.earliest, falls.latest


def _look(found: Falls, gauged: Gauged, floor_abv_percent: float, months: range) -> None:
    """Write down the first of some months in which each cask is under the strength."""
    for month in months:
        years = np.maximum(gauged.since_years + month * DAYS_A_MONTH / DAYS_A_YEAR, 0.0)
        then = contents_on(replace(gauged, since_years=years))
        low, high = then.abv_between()
        for when, abv in (
            (found.expected, then.abv_percent),
            (found.earliest, low),
            (found.latest, high),
        ):
            fallen = (abv < floor_abv_percent) & ~np.isfinite(when)
            when[fallen] = month
