"""What lies in each cask on a day: the gauges of the store put to `analysis.strength.content`."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

from analysis.days import DAYS_A_YEAR
from panel.kinds import GaugeMethod
from panel.store.ages import calendar_years
from panel.store.contents import Gauge
from panel.store.filling_states import FillingState, filling_states
from panel.store.house import read_setting

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.strength.content import Contents
    from analysis.strength.gauge_ways import GaugeWay
    from analysis.strength.yearly import Gauged

MOST_YEARS = 100.0
"""Beyond this a strength that falls says nothing."""


def contents_of(
    states: Sequence[FillingState], day: date, *, dry_stores: Collection[str] = ()
) -> Contents:
    """Return what some fillings hold on a day, moved there by their own losses.

    Parameters
    ----------
    states
        Fillings that lie in their casks; all of the house, for a cask with one gauge goes as
        the house does.
    day
        The day asked for.
    dry_stores
        Warehouses that count as dry, in small letters.
    """
    from analysis.strength.content import contents_on

    return contents_on(_gauged(states, [day] * len(states), dry_stores))


def gauged_of(states: Sequence[FillingState], *, dry_stores: Collection[str] = ()) -> Gauged:
    """Return fillings by their first and last gauges, each on the day of its state."""
    return _gauged(states, [state.as_of for state in states], dry_stores)


def way_of(gauge: Gauge) -> GaugeWay:
    """Return how a gauge was taken; what has no method was measured as the cask was filled."""
    from analysis.strength.gauge_ways import GaugeWay

    ways = {
        None: GaugeWay.FILLED,
        GaugeMethod.WEIGHED: GaugeWay.WEIGHED,
        GaugeMethod.DIPPED: GaugeWay.DIPPED,
    }
    return ways[gauge.method]


def alcohol_error(gauge: Gauge) -> float:
    """Return the relative standard deviation of the alcohol that a gauge found."""
    from analysis.strength.yearly import ABV_ERROR

    return math.hypot(_error(gauge), ABV_ERROR / max(gauge.abv, 1.0))


def dry_stores(db: Session) -> frozenset[str]:
    """Return the warehouses that the house counts as dry, in small letters."""
    names = str(read_setting(db, "dry_stores")).split(",")
    return frozenset(name.strip().casefold() for name in names if name.strip())


class _Moved(NamedTuple):
    """Litres in all, and how many years before the day they went, by the litre."""

    litres: float
    years: float


class Held(NamedTuple):
    """Litres that a filling holds on a day, as expected and at least (19 in 20 hold more)."""

    litres: float
    least: float


def held_litres(db: Session, day: date, *, besides_release: str | None = None) -> dict[int, Held]:
    """Return by id what each filling that lies in its cask holds on a day, by its gauges.

    What the release *besides_release* took itself counts as still in its cask.
    """
    every = filling_states(db, day, besides_release=besides_release)
    states = [each for each in every if each.emptied_on is None]
    contents = contents_of(states, day, dry_stores=dry_stores(db))
    low, _ = contents.litres_between()
    held = zip(states, contents.litres.tolist(), low.tolist(), strict=True)
    return {state.filling_id: Held(litres, least) for state, litres, least in held}


def weak_from(
    states: Sequence[FillingState], contents: Contents, legal_abv_percent: float | None
) -> list[date | None]:
    """Return for each filling when its strength falls under the legal one; None where it does not.

    One that was measured below it has fallen already: that is another bar.
    """
    import numpy as np

    from analysis.strength.content import years_until

    if legal_abv_percent is None:
        return [None] * len(states)
    abv = np.array([state.abv for state in states])
    years = years_until(abv, contents.abv_rate.loss, legal_abv_percent)
    return [
        None
        if state.abv < legal_abv_percent or left > MOST_YEARS
        else state.gauge.on + timedelta(days=int(np.ceil(left * DAYS_A_YEAR)))
        for state, left in zip(states, years.tolist(), strict=True)
    ]


def _gauged(
    states: Sequence[FillingState], days: Sequence[date], dry_stores: Collection[str]
) -> Gauged:
    import numpy as np

    from analysis.strength.yearly import Gauged

    firsts = [_first(state) for state in states]
    moves = [_since_gauge(state, day) for state, day in zip(states, days, strict=True)]
    dry = [is_dry(state, dry_stores) for state in states]

    def each(values: list[float]) -> np.ndarray:
        return np.array(values, dtype=np.float64)

    return Gauged(
        abv_percent=each([state.abv for state in states]),
        since_years=each(
            [max(calendar_years(s.gauge.on, day), 0.0) for s, day in zip(states, days, strict=True)]
        ),
        last_litres=each([state.gauge.bulk_l for state in states]),
        last_abv_percent=each([state.gauge.abv for state in states]),
        litres_error=each([_error(state.gauge) for state in states]),
        taken_litres=each([taken for (taken, _), _ in moves]),
        taken_years=each([years for (_, years), _ in moves]),
        added_litres=each([added for _, (added, _) in moves]),
        added_years=each([years for _, (_, years) in moves]),
        first_litres=each(
            [first.bulk_l - _taken(s, first) for s, first in zip(states, firsts, strict=True)]
        ),
        first_abv_percent=each([first.abv for first in firsts]),
        first_error=each([_error(first) for first in firsts]),
        span_years=each(
            [calendar_years(f.on, s.gauge.on) for s, f in zip(states, firsts, strict=True)]
        ),
        fresh=np.array([f.on == s.filled_on for s, f in zip(states, firsts, strict=True)], bool),
        size_litres=each([state.size_l for state in states]),
        dry=np.array(dry, dtype=np.bool_),
    )


def is_dry(state: FillingState, dry_stores: Collection[str]) -> bool:
    """Tell whether a filling lies in a store that counts as dry."""
    return (state.place.warehouse or "").strip().casefold() in dry_stores


def _since_gauge(state: FillingState, day: date) -> tuple[_Moved, _Moved]:
    """What was taken out since the last gauge, and what was added; a day's gauge comes last."""
    since, last = state.gauge.on, state.as_of
    taken = [(on, litres) for on, litres in state.taken if since < on <= last]
    added = [(each.on, each.litres) for each in state.added if since < each.on <= last]
    return _sum_of(taken, day), _sum_of(added, day)


def _sum_of(moves: Sequence[tuple[date, float]], day: date) -> _Moved:
    litres = sum(litres for _, litres in moves)
    if not litres:
        return _Moved(0.0, 0.0)
    years = sum(litres * max(calendar_years(on, day), 0.0) for on, litres in moves)
    return _Moved(litres, years / litres)


def _first(state: FillingState) -> Gauge:
    """The gauge from which on nothing was added to it and it had no leak: its own loss is since."""
    last = state.gauge
    breaks = [each.on for each in state.added] + list(state.repaired)
    since = max((on for on in breaks if on <= last.on), default=state.filled_on)
    return next((gauge for gauge in state.gauges if gauge.on >= since), last)


def _taken(state: FillingState, first: Gauge) -> float:
    return sum(litres for on, litres in state.taken if first.on < on <= state.gauge.on)


def _error(gauge: Gauge) -> float:
    from analysis.strength.gauge_ways import LITRES_ERROR

    return LITRES_ERROR[way_of(gauge)]
