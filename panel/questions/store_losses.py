"""What the stores of the house lose, learnt from what went between its casks' gauges."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from panel.frames.contents import alcohol_error, is_dry, way_of
from panel.store.ages import calendar_years

if TYPE_CHECKING:
    from datetime import date

    from analysis.strength.neighbours import Intervals, Neighbours
    from panel.questions.loss_limits import LossRules
    from panel.store.contents import Gauge
    from panel.store.filling_states import FillingState

STORE_SURELY = 3.5
"""So many standard deviations off, a store is told to lose more than is reckoned."""
FEWEST_CASKS = 8


class StoreName(NamedTuple):
    """A warehouse of a site; empty where the records do not say."""

    site: str
    warehouse: str


@dataclass(frozen=True)
class StoreLoss:
    """A store whose casks lose more than is reckoned for them, percents a year of alcohol."""

    store: StoreName
    n_casks: int
    percent_a_year: float
    reckoned_percent_a_year: float


@dataclass(frozen=True)
class StoreLosses:
    """What casks lose by store, and the number of each store in it."""

    neighbours: Neighbours
    stores: dict[StoreName, int]
    dry: tuple[bool, ...]

    def number(self, state: FillingState) -> int:
        """Return the number of the store that a filling lies in."""
        return self.stores[store_of(state)]


def store_of(state: FillingState) -> StoreName:
    """Return where a filling lies."""
    return StoreName(state.place.site or "", state.place.warehouse or "")


def as_year(day: date) -> float:
    """Return a day as a calendar year with its part."""
    return day.year + (day.timetuple().tm_yday - 1) / 366.0


def store_losses(house: Sequence[FillingState], losses: LossRules) -> StoreLosses:
    """Learn from all fillings that lie in casks what those of each store lose."""
    import numpy as np

    from analysis.strength.neighbours import learn

    stores: dict[StoreName, int] = {}
    dry: list[bool] = []
    for state in house:
        if store_of(state) not in stores:
            stores[store_of(state)] = len(stores)
            dry.append(is_dry(state, losses.dry_stores))
    found = _intervals(house, stores)
    return StoreLosses(learn(found, np.array(dry, dtype=np.bool_)), stores, tuple(dry))


def stores_that_lose(found: StoreLosses, *, more_percent: float) -> Iterator[StoreLoss]:
    """Give the stores whose casks lose surely more than is reckoned, by so much a year and more.

    What is reckoned is what the casks of all stores of its kind lose, cool or dry.
    """
    like = found.neighbours
    for store, at in found.stores.items():
        n, mean = int(like.n_casks[at]), float(like.mean[at])
        reckoned = like.kind[found.dry[at]]
        sure = mean - STORE_SURELY * float(like.mean_sd[at]) > reckoned
        lost, usual = (100.0 * -math.expm1(-each) for each in (mean, reckoned))
        if n >= FEWEST_CASKS and sure and lost - usual > more_percent:
            yield StoreLoss(store, n, lost, usual)


def _intervals(house: Sequence[FillingState], stores: dict[StoreName, int]) -> Intervals:
    import numpy as np

    from analysis.strength.neighbours import Intervals

    columns = [*zip(*_rows(house, stores), strict=True)] or [()] * 12
    cask, store, way_before, way_after = (np.array(each, dtype=np.intp) for each in columns[:4])
    numbers = (np.array(each, dtype=np.float64) for each in columns[4:11])
    size, begins, ends, lost, soaked, before, after = numbers
    return Intervals(
        cask=cask,
        store=store,
        size_litres=size,
        begins=begins,
        ends=ends,
        lost=lost,
        soaked=soaked,
        error_before=before,
        error_after=after,
        method_before=way_before,
        method_after=way_after,
        follows=np.array(columns[11], dtype=np.bool_),
    )


def _rows(
    house: Sequence[FillingState], stores: dict[StoreName, int]
) -> Iterator[tuple[float, ...]]:
    for cask, state in enumerate(house):
        ended = None
        store, begun = stores[store_of(state)], state.filled_on
        read = [(as_year(g.on), alcohol_error(g), way_of(g)) for g in state.gauges]
        for at, (early, late) in enumerate(zip(state.gauges, state.gauges[1:], strict=False)):
            lost = _lost(state, early, late)
            if lost is None:
                continue
            soaked = _soaked(begun, late.on) - _soaked(begun, early.on)
            (from_day, error_before, before), (to_day, error_after, after) = read[at : at + 2]
            yield (
                *(cask, store, before, after, state.size_l, from_day, to_day),
                *(lost, soaked, error_before, error_after, ended == early.on),
            )
            ended = late.on


def _soaked(begun: date, on: date) -> float:
    from analysis.strength.yearly import SOAKS_A_YEAR

    return -math.expm1(-SOAKS_A_YEAR * (on - begun).days / 365.25)


def _lost(state: FillingState, early: Gauge, late: Gauge) -> float | None:
    """What went by itself, as a logarithm; None where something else is on record or at odds."""
    odd = [each.on for each in state.added] + list(state.repaired)
    if state.leaking_since is not None and late.on >= state.leaking_since:
        return None
    if early.on >= late.on or any(early.on < on <= late.on for on in odd):
        return None
    if min(early.bulk_l, early.abv, late.bulk_l, late.abv) <= 0.0:
        return None
    if not any(early.on < on <= late.on for on, _ in state.taken):
        return math.log(early.bulk_l * early.abv / (late.bulk_l * late.abv))
    return _lost_besides(state, early, late)


def _lost_besides(state: FillingState, early: Gauge, late: Gauge) -> float | None:
    from analysis.errors import InputError
    from analysis.strength import evaporation
    from panel.questions.withdrawn import withdrawals

    years = calendar_years(early.on, late.on)
    taken = withdrawals(state, early, late)
    try:
        loss = evaporation(early.bulk_l, early.abv, late.bulk_l, late.abv, years, taken)
    except InputError:
        return None
    kept = 1.0 - loss.lpa_percent_a_year_compound / 100.0
    return -years * math.log(kept) if kept > 0.0 else None
