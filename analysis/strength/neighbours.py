"""What casks lose beside their neighbours: by store, year, size and gauge, from the records.

A store has a loss of its own, a warm year takes more from every cask in it, small casks lose more
than large ones, and a round of gauging may read low as a whole. All of that is learnt from what
went between the house's gauges, so that a cask is held against what others lost at the same time.
Everything is a median or an estimate that bounds what one cask says: a few leaks move nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..array_types import Codes, Flags, Floats
from .gauge_ways import GaugeWay
from .medians import lower_spread, middle
from .paces import Paces, paces_of
from .yearly import COOL, DRY, SOAK, SOAK_SD, Trade, wider_by_size

_ROUNDS = 3
_TRADE_WORTH, _KIND_WORTH, _SPREAD_WORTH = 3.0, 5.0, 10.0
"""Casks that the trade counts as beside the house, the house beside a store; for the spread."""
_STORES_DIFFER = 0.25
"""By what share of the house's loss a store's may differ before it is known."""
_PER_DOUBLING = 0.12
"""How far the loss may be off size^(-1/3), for each doubling away from 250 L."""
_BIN = 0.5
_BINS = 13
_LEAST_YEARS = 0.5
_MEDIAN_SQUARE = 0.4549364
"""Median of the square of a standard normal."""
_MOST_ERROR = 4.0
_LEAST_RATE = 0.05
"""Of what its like lose: by its gauges' errors a cask may seem to lose nothing."""
_KNOWN = 0.3
"""Known is a loss whose variance by the gauges is at most this part of that between casks."""
_FEWEST_IN_TAIL = 100
_RAREST, _AT_RAREST, _MOST_TAIL = 0.01, -2.3263479, 2.0
"""The lowest hundredth, and where it lies of a standard normal."""
_DOMINATES = 0.5


@dataclass(frozen=True, eq=False)
class Intervals:
    """What went between two gauges of a cask that follow one another, one row a pair.

    Attributes
    ----------
    cask, store
        Which cask and which store; rows of a cask stand together, the oldest first.
    size_litres
        Of the cask.
    begins, ends
        Days as calendar years.
    lost
        Logarithm of the share of the alcohol that went; what was taken out put aside.
    soaked
        Which part of the first soak falls in between.
    error_before, error_after, method_before, method_after
        Relative standard deviation of each gauge, and the way it was taken.
    follows
        Whether the row before ends at the gauge that this one begins with.
    """

    cask: Codes
    store: Codes
    size_litres: Floats
    begins: Floats
    ends: Floats
    lost: Floats
    soaked: Floats
    error_before: Floats
    error_after: Floats
    method_before: Codes
    method_after: Codes
    follows: Flags


@dataclass(frozen=True, eq=False)
class Neighbours:
    """What the casks of a house lose, as far as its gauges tell.

    Losses are logarithms of what stays after a year, of a cask of 250 L.

    Attributes
    ----------
    mean, mean_sd, between
        Of each store: what is lost, the error of that, and the variance between casks.
    n_casks
        Casks of each store with two gauges.
    kind
        What other stores and dry ones lose in the house as a whole.
    paces
        By how much years and rounds of gauging were off.
    by_size, by_size_sd
        What the loss is multiplied by beside ``size^(-1/3)``, by half doublings of 250 L.
    error_factor
        By how much more than is usual each way of gauging errs.
    tail
        By how much further out the rarest casks lie than logarithms that are normal.
    """

    mean: Floats
    mean_sd: Floats
    between: Floats
    n_casks: Codes
    kind: tuple[float, float]
    paces: Paces
    by_size: Floats
    by_size_sd: Floats
    error_factor: Floats
    tail: float

    def wider(self, size_litres: Floats) -> Floats:
        """By how much more than one of 250 L a cask loses."""
        found: Floats = wider_by_size(size_litres) * self.by_size[_bin(size_litres)]
        return found

    def own_loss(self, store: Codes, size_litres: Floats) -> tuple[Floats, Floats]:
        """Expected yearly loss of casks by their like alone, and its variance."""
        wider = self.wider(size_litres)
        mean = self.mean[store] * wider
        sized = self.by_size_sd[_bin(size_litres)] / self.by_size[_bin(size_litres)]
        variance = (self.between[store] + self.mean_sd[store] ** 2) * wider**2
        return mean, variance + (mean * sized) ** 2

    def differ(self, store: Codes) -> Floats:
        """Standard deviation of the logarithm of casks' losses, of a store."""
        found: Floats = np.sqrt(np.log1p(self.between[store] / self.mean[store] ** 2))
        return found


def learn(found: Intervals, dry_stores: Flags) -> Neighbours:
    """Learn from what went between gauges what the casks of each store lose.

    Parameters
    ----------
    found
        What went.
    dry_stores
        Whether each store counts as dry.

    Notes
    -----
    In turns, three times: each cask's loss a year by its gauges; the stores' medians, drawn to the
    house's where casks are few (it counts as five), the house's to the trade's (three); the median
    by size in stores; what casks differ by from the median deviation less the gauges' errors;
    years and rounds of gauging by `paces_of`; how the ways of gauging err from the median square
    of what is left. A figure of the trade for an error is a least one: records only widen it.
    """
    n_stores = len(dry_stores)
    told = _Learnt(
        mean=np.where(dry_stores, DRY.alcohol, COOL.alcohol),
        mean_sd=np.where(dry_stores, DRY.alcohol_sd, COOL.alcohol_sd),
        between=np.where(dry_stores, DRY.alcohol_sd, COOL.alcohol_sd) ** 2,
        by_size=np.ones(_BINS),
        by_size_sd=_size_doubt(),
        error_factor=np.ones(len(GaugeWay)),
    )
    n_casks, kind = np.zeros(n_stores, dtype=np.intp), (COOL.alcohol, DRY.alcohol)
    paces = Paces.none(n_stores)
    if len(found.lost):
        for _ in range(_ROUNDS):
            rates = _rates(found, told, paces)
            n_casks, kind = _stores(rates, told, dry_stores)
            _sizes(rates, told)
            wide = wider_by_size(found.size_litres) * told.by_size[_bin(found.size_litres)]
            usual = told.mean[found.store] * wide
            paces = paces_of(found, _gone(found), usual, _noise(found, told), n_stores)
            _errors(found, told, paces)
    tail = 1.0 if not len(found.lost) else _tail(_rates(found, told, paces), told)
    paces, kind = _as_they_went(found, told, paces, kind, dry_stores)
    return Neighbours(
        *(told.mean, told.mean_sd, told.between, n_casks, kind, paces),
        *(told.by_size, told.by_size_sd, told.error_factor),
        tail=tail,
    )


@dataclass
class _Learnt:
    mean: Floats
    mean_sd: Floats
    between: Floats
    by_size: Floats
    by_size_sd: Floats
    error_factor: Floats


@dataclass(frozen=True, eq=False)
class _Rates:
    """Yearly loss of each cask as of one of 250 L, its variance by the gauges alone."""

    rate: Floats
    variance: Floats
    store: Codes
    size_bin: Codes


def _bin(size_litres: Floats) -> Codes:
    """The half doubling of 250 L that a size is nearest to."""
    halves = np.rint(np.log2(size_litres / 250.0) / _BIN) + _BINS - 4
    found: Codes = np.clip(halves, 0, _BINS - 1).astype(np.intp)
    return found


def _size_doubt() -> Floats:
    doubt: Floats = _PER_DOUBLING * np.abs(np.arange(_BINS) - (_BINS - 4)) * _BIN
    return doubt


def _gone(found: Intervals) -> Floats:
    """What went, the first soak as is usual apart."""
    return found.lost - found.soaked * SOAK * wider_by_size(found.size_litres)


def _squares(found: Intervals, told: _Learnt) -> tuple[Floats, Floats]:
    before = (found.error_before * told.error_factor[found.method_before]) ** 2
    after = (found.error_after * told.error_factor[found.method_after]) ** 2
    return before, after


def _noise(found: Intervals, told: _Learnt) -> Floats:
    """Variance of what went in between: by both gauges, the soak, and what casks differ by."""
    before, after = _squares(found, told)
    wide = wider_by_size(found.size_litres)
    span = (found.ends - found.begins) * wide * told.by_size[_bin(found.size_litres)]
    return (
        before + after + (SOAK_SD * wide * found.soaked) ** 2 + told.between[found.store] * span**2
    )


def _rates(found: Intervals, told: _Learnt, paces: Paces) -> _Rates:
    before, after = _squares(found, told)
    wide = wider_by_size(found.size_litres)
    sized = told.by_size[_bin(found.size_litres)]
    took = paces.took(found.store, found.begins, found.ends) * wide
    gone = _gone(found) - paces.read_low(found.method_after, found.ends)
    gone = gone + paces.read_low(found.method_before, found.begins)
    noise = before + after - 2.0 * np.where(found.follows, before, 0.0)
    noise = noise + (SOAK_SD * wide * found.soaked) ** 2
    casks, first = np.unique(found.cask, return_index=True)
    of = np.searchsorted(casks, found.cask)
    took_all, gone_all, noise_all = (
        np.bincount(of, each, len(casks)) for each in (took * sized, gone, noise)
    )
    long = np.bincount(of, found.ends - found.begins, len(casks)) >= _LEAST_YEARS
    took_all, first = np.maximum(took_all[long], 1e-6), first[long]
    return _Rates(
        rate=gone_all[long] / took_all,
        variance=np.maximum(noise_all[long], 1e-10) / took_all**2,
        store=found.store[first],
        size_bin=_bin(found.size_litres[first]),
    )


def _stores(rates: _Rates, told: _Learnt, dry_stores: Flags) -> tuple[Codes, tuple[float, float]]:
    """Bring means and spreads of the stores up to date; casks of each, and the house's means."""
    n_casks = np.bincount(rates.store, minlength=len(dry_stores)).astype(np.intp)
    kinds = []
    for dry, trade in ((False, COOL), (True, DRY)):
        in_kind = dry_stores[rates.store] == dry
        mean, between = _house(rates, told, in_kind, trade)
        kinds.append(mean)
        for store in np.flatnonzero(dry_stores == dry):
            _store(rates, told, int(store), mean, between)
    return n_casks, (kinds[0], kinds[1])


def _house(rates: _Rates, told: _Learnt, here: Flags, trade: Trade) -> tuple[float, float]:
    """Mean of a kind of store in the house, and what its casks differ by in one store."""
    n = int(here.sum())
    if n == 0:
        return trade.alcohol, trade.alcohol_sd**2
    rate, variance, store = rates.rate[here], rates.variance[here], rates.store[here]
    weight = 1.0 / (variance + told.between[store])
    centre = middle(rate, weight)
    seen = _differ(rate / told.mean[store], weight) * centre
    seen = seen**2 - middle(variance, weight)
    share, known = n / (n + _TRADE_WORTH), n / (n + _SPREAD_WORTH)
    mean = share * centre + (1.0 - share) * trade.alcohol
    least = (0.05 * trade.alcohol) ** 2
    return max(mean, 1e-4), known * max(seen, least) + (1.0 - known) * trade.alcohol_sd**2


def _differ(relative: Floats, weight: Floats) -> float:
    """What casks differ by, by logarithms and those that lose less: leaks lie at the other end."""
    return lower_spread(np.log(np.maximum(relative, _LEAST_RATE)), weight)


def _store(rates: _Rates, told: _Learnt, store: int, mean: float, between: float) -> None:
    here = rates.store == store
    n = int(here.sum())
    far = _STORES_DIFFER * mean
    if n == 0:
        told.mean[store], told.mean_sd[store], told.between[store] = mean, far, between
        return
    rate, variance = rates.rate[here], rates.variance[here]
    weight = 1.0 / (variance + told.between[store])
    centre, pull = middle(rate, weight), n / (n + _KIND_WORTH)
    told.mean[store] = max(pull * centre + (1.0 - pull) * mean, 0.1 * mean)
    noise = np.pi / 2.0 * (middle(variance, weight) + told.between[store]) / n
    told.mean_sd[store] = np.sqrt(pull**2 * noise + ((1.0 - pull) * far) ** 2)
    seen = (_differ(rate / max(centre, 1e-4), weight) * centre) ** 2
    seen = max(seen - middle(variance, weight), 0.0)
    known = n / (n + _SPREAD_WORTH)
    usual = between * (told.mean[store] / mean) ** 2
    told.between[store] = max(known * seen + (1.0 - known) * usual, (0.05 * mean) ** 2)


def _as_they_went(
    found: Intervals, told: _Learnt, paces: Paces, kind: tuple[float, float], dry_stores: Flags
) -> tuple[Paces, tuple[float, float]]:
    """Count years so that those a store was gauged over are usual on average.

    What all years of a store have in common is its own loss: as it is told and set beside others.
    What a cask is expected to lose stays what it was.
    """
    span = found.ends - found.begins
    took = paces.took(found.store, found.begins, found.ends)
    each, all_took = (np.bincount(found.store, part, len(dry_stores)) for part in (span, took))
    pace = np.where(each > 0.0, all_took / np.where(each > 0.0, each, 1.0), 1.0)
    told.mean, told.mean_sd = told.mean * pace, told.mean_sd * pace
    told.between = told.between * pace**2
    kinds = []
    for dry, mean in zip((False, True), kind, strict=True):
        here = (dry_stores == dry) & (each > 0.0)
        kinds.append(mean * (float(all_took[here].sum() / each[here].sum()) if here.any() else 1.0))
    counted = replace(
        paces,
        pace=paces.pace / pace[:, None],
        covariance=paces.covariance / pace[:, None, None] ** 2,
    )
    return counted, (kinds[0], kinds[1])


def _tail(rates: _Rates, told: _Learnt) -> float:
    """How far out casks lie that lose least: no leak is among them, and the other end is alike."""
    mean, between = told.mean[rates.store], told.between[rates.store]
    known = rates.variance < _KNOWN * between
    n = int(known.sum())
    if n < _FEWEST_IN_TAIL:
        return 1.0
    relative = np.maximum(rates.rate[known] / mean[known], 0.01)
    wide = np.sqrt(np.log1p((between + rates.variance)[known] / mean[known] ** 2))
    lowest = float(np.quantile(np.log(relative) / wide, _RAREST))
    share = n / (n + _FEWEST_IN_TAIL)
    return 1.0 + share * (float(np.clip(lowest / _AT_RAREST, 1.0, _MOST_TAIL)) - 1.0)


def _sizes(rates: _Rates, told: _Learnt) -> None:
    """Bring what sizes are off by up to date, doubted by how many casks tell of it."""
    doubt, relative = _size_doubt(), rates.rate / told.mean[rates.store]
    noise = (rates.variance + told.between[rates.store]) / told.mean[rates.store] ** 2
    for at in np.unique(rates.size_bin):
        here = rates.size_bin == at
        weight = 1.0 / noise[here]
        error = np.pi / 2.0 / weight.sum()
        pull = doubt[at] ** 2 / (doubt[at] ** 2 + error)
        seen = told.by_size[at] * middle(relative[here], weight)
        told.by_size[at] = np.clip(1.0 + pull * (seen - 1.0), 0.3, 3.0)
        told.by_size_sd[at] = np.sqrt(error * pull)


def _errors(found: Intervals, told: _Learnt, paces: Paces) -> None:
    """Widen the error of a way of gauging where the records are further off than it explains."""
    wide = wider_by_size(found.size_litres) * told.by_size[_bin(found.size_litres)]
    expected = told.mean[found.store] * wide * paces.took(found.store, found.begins, found.ends)
    low = paces.read_low(found.method_after, found.ends)
    left = _gone(found) - expected - low + paces.read_low(found.method_before, found.begins)
    for _ in range(4):
        before, after = _squares(found, told)
        noise = _noise(found, told)
        for method in GaugeWay:
            share = np.where(found.method_before == method, before, 0.0)
            share = (share + np.where(found.method_after == method, after, 0.0)) / noise
            here = share > _DOMINATES
            if here.sum() < 2 * _SPREAD_WORTH:
                continue
            ratio = float(np.median(left[here] ** 2 / noise[here])) / _MEDIAN_SQUARE
            factor = told.error_factor[method] * np.sqrt(max(ratio, 0.25))
            told.error_factor[method] = np.clip(factor, 1.0, _MOST_ERROR)
