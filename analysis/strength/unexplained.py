"""Whether the last gauge of a cask finds less alcohol than its own loss can explain.

All gauges of a cask are looked at together: how its alcohol went so far says what it loses by
itself, the house's other casks say it as long as its own gauges cannot, and each gauge has its
error. A leak is a loss that began after some gauge and has gone on since.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..array_types import Codes, Flags, Floats
from .neighbours import Neighbours
from .regauge import Excess
from .yearly import SOAK, SOAK_SD, SOAKS_A_YEAR, wider_by_size

SURELY = 3.1
"""So many standard deviations off is no chance of two gauges."""
BY_LIKE = 0.8
"""Which part of their skewness is added where a cask's own loss is known from its like alone."""
LEAST_DIFFER = 0.18
"""Casks of a store differ by at least that: by fewer than a dozen nobody knows."""
_FREE_VARIANCE = 1.0
"""Of the level after a known loss: as good as unknown."""
_FLOOR = 1e-12


@dataclass(frozen=True, eq=False)
class GaugeSeries:
    """Gauges of casks, one row a cask, one column a gauge, NaN after the last.

    Attributes
    ----------
    years
        Since the first gauge, shape (n, k).
    log_left
        Logarithm of the share of the first gauge's alcohol that is left, what was taken out put
        aside, shape (n, k); the first column is 0.
    error
        Relative standard deviation of the alcohol by each gauge, shape (n, k).
    steps
        Whether before a gauge something was lost that is known of and explains nothing now: a leak
        that was found or mended, an earlier gauge that was asked about, shape (n, k).
    fresh
        Whether the first gauge is the filling: wood drinks at first, shape (n,).
    size_litres, store
        Size of the cask, and which store it lies in, shape (n,).
    on
        Days of the gauges as calendar years, by the same reckoning as the house's losses were
        learnt by, shape (n, k): whole at 1 January, or a gauge of that day counts to the year
        before.
    method
        The way each gauge was taken, shape (n, k).
    """

    years: Floats
    log_left: Floats
    error: Floats
    steps: Flags
    fresh: Flags
    size_litres: Floats
    store: Codes
    on: Floats
    method: Codes

    @property
    def n_gauges(self) -> Codes:
        """Gauges of each cask."""
        found: Codes = np.isfinite(self.years).sum(axis=1)
        return found


@dataclass(frozen=True, eq=False)
class Excesses:
    """How far each cask is off what it should hold, had a leak begun at an earlier gauge.

    Attributes
    ----------
    apart
        In standard deviations; minus infinity where there is no such gauge.
    needed
        From which on that is no chance.
    from_like, needed_from_like
        The same of what went since that gauge beside what the casks of its store lost.
    more
        Loss a year beyond the cask's own, as the logarithm of what stays.
    own
        Its own loss a year, likewise.
    gauges_sd
        Relative standard deviation of what two gauges alone say of the share that is left.
    """

    apart: Floats
    needed: Floats
    from_like: Floats
    needed_from_like: Floats
    more: Floats
    own: Floats
    gauges_sd: Floats

    def at(self, row: int) -> Excess:
        """Return what is told of one cask, in percents a year."""
        return Excess(
            apart=float(self.apart[row]),
            needed=float(self.needed[row]),
            out_of_like=bool(self.from_like[row] > self.needed_from_like[row]),
            more_percent_a_year=float(100.0 * -np.expm1(-self.more[row])),
            own_percent_a_year=float(100.0 * -np.expm1(-self.own[row])),
            gauges_sd=float(self.gauges_sd[row]),
        )


def excess_loss(series: GaugeSeries, house: Neighbours, *, back: int = 1) -> Excesses:
    """Say how much more than its own each cask has lost since the gauge *back* before its last.

    Choose 1 for what went since the gauge before, 2 for what goes slowly.

    Parameters
    ----------
    series
        The casks. Spirit that was added ends a series: begin it anew at the next gauge.
    house
        What the casks of the house lose, by store, year, size and round of gauging.

    Notes
    -----
    With the first gauge's logarithm, first soak s, own yearly loss r, and a loss x a year more from
    the gauge at t_0 on, gauge i reads ``-s (1 - exp(-4 t_i)) - r T_i - x (t_i - t_0)+`` and its
    error; T counts usual years, a warm one more than once (`paces.Paces.took`). Prior: s from the
    trade's first soak, r from the casks of the store, by size (`Neighbours.own_loss`). x is
    estimated by generalised least squares with variance ``1 / d' S^-1 d`` (Aitken 1936), r, s and
    known steps in S; to it comes the error of what the last years took. `apart` is x over its
    standard deviation. `needed` grows with the part of that variance which comes from not knowing
    r: what casks of a store differ by is skew, as logarithms are normal. `from_like` sets what went
    since that gauge beside the casks of the store alone. The constants were set on simulated
    houses.
    """
    rows, n = np.arange(len(series.years)), series.n_gauges
    there = np.isfinite(series.years)
    years = np.where(there, series.years, 0.0)
    wider = wider_by_size(series.size_litres)
    mean, variance = house.own_loss(series.store, series.size_litres)
    took = _took(series, house, there)
    soaked = np.where(series.fresh[:, None], -np.expm1(-SOAKS_A_YEAR * years), 0.0)
    short = _short(series, house, there) - soaked * (SOAK * wider)[:, None]
    short = short - mean[:, None] * took
    error = np.where(there, series.error * house.error_factor[series.method], 0.0)
    bare = _covariance(series.steps, there, error, soaked * (SOAK_SD * wider)[:, None])
    whole = bare + _outer(took) * variance[:, None, None]
    begun = n - 1 - back
    start = np.where(begun >= 0, years[rows, np.maximum(begun, 0)], np.inf)
    since = np.where(there, np.maximum(years - np.where(begun >= 0, start, 0.0)[:, None], 0.0), 0.0)
    told = (begun >= 0) & (since.max(axis=1, initial=0.0) > 0.0)
    last, first = np.maximum(n - 1, 0), np.maximum(begun, 0)
    span = np.where(told, years[rows, last] - years[rows, first], 1.0)
    common = _common(series, house, mean, (first, last))
    # The first gauge is what all others are compared with.
    weight = np.linalg.solve(whole[:, 1:, 1:], since[:, 1:, None])[..., 0]
    precision = np.maximum((weight * since[:, 1:]).sum(axis=1), _FLOOR)
    more = (weight * short[:, 1:]).sum(axis=1) / precision
    sd = np.sqrt(1.0 / precision + common / span**2)
    by_like = ((weight * took[:, 1:]).sum(axis=1) / precision / sd) ** 2 * variance
    differ = house.differ(series.store)
    gone = np.where(there, series.log_left, 0.0)
    gone_a_year = (gone[rows, first] - gone[rows, last]) / span
    gauges_sd = np.hypot(error[rows, first], error[rows, last])
    passed = took[rows, last] - took[rows, first]
    beyond = short[rows, last] - short[rows, first]
    alone = np.sqrt(gauges_sd**2 + variance * passed**2 + common)
    return Excesses(
        apart=np.where(told, more / sd, -np.inf),
        needed=SURELY + np.clip(by_like, 0.0, 1.0) * _skew(differ, house.tail),
        from_like=np.where(told, beyond / np.maximum(alone, _FLOOR), -np.inf),
        needed_from_like=SURELY
        + variance * passed**2 / np.maximum(alone, _FLOOR) ** 2 * _skew(differ, house.tail),
        more=np.where(told, more, 0.0),
        own=np.where(told, gone_a_year - more, 0.0),
        gauges_sd=gauges_sd,
    )


def _skew(differ: Floats, tail: float) -> Floats:
    """So much further out lies what is as rare where logarithms are normal, or beyond that."""
    wide = np.maximum(differ, LEAST_DIFFER)
    found: Floats = np.expm1(wide * SURELY * tail) / wide - SURELY
    return BY_LIKE * found


def _took(series: GaugeSeries, house: Neighbours, there: Flags) -> Floats:
    """Usual years that have gone by at each gauge."""
    store = np.broadcast_to(series.store[:, None], there.shape)
    begun = np.broadcast_to(series.on[:, :1], there.shape)
    return house.paces.took(store, begun, _days(series, there))


def _days(series: GaugeSeries, there: Flags) -> Floats:
    """Day of each gauge; that of the first where there is none."""
    return np.where(there, series.on, series.on[:, :1])


def _short(series: GaugeSeries, house: Neighbours, there: Flags) -> Floats:
    """What is missing at each gauge, but for what its round of gauging reads low by."""
    low = house.paces.read_low(series.method, _days(series, there))
    return np.where(there, low[:, :1] - low - series.log_left, 0.0)


def _common(
    series: GaugeSeries, house: Neighbours, mean: Floats, between: tuple[Codes, Codes]
) -> Floats:
    """Variance of what is held to have gone from all casks between two gauges of each."""
    rows = np.arange(len(mean))
    first, last = (series.on[rows, at] for at in between)
    ways = [series.method[rows, at] for at in between]
    low = [
        house.paces.read_low_variance(way, on) for way, on in zip(ways, (first, last), strict=True)
    ]
    found: Floats = mean**2 * house.paces.took_variance(series.store, first, last) + low[0] + low[1]
    return found


def _covariance(steps: Flags, there: Flags, error: Floats, soak_sd: Floats) -> Floats:
    """Covariance of what is read, the first gauge's error in all; of no gauge 1 by itself."""
    both = there[:, :, None] & there[:, None, :]
    found = _outer(soak_sd) + np.where(both, error[:, :1, None] ** 2, 0.0)
    at = np.arange(error.shape[1])
    found[:, at, at] += np.where(there, error**2, 1.0)
    known = np.cumsum(steps & there, axis=1)
    return found + _FREE_VARIANCE * np.where(both, np.minimum(known[:, :, None], known[:, None]), 0)


def _outer(rows: Floats) -> Floats:
    found: Floats = rows[:, :, None] * rows[:, None, :]
    return found
