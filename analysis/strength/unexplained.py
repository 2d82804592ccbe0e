"""Whether the last gauge of a cask finds less alcohol than its own loss can explain.

All gauges of a cask are looked at together: how its alcohol went so far says what it loses by
itself, the house's other casks say it as long as its own gauges cannot, and each gauge has its
error. A leak is a loss that began after some gauge and has gone on since.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..array_types import Codes, Flags, Floats
from .content import SOAK, SOAK_SD, Gauged, losses_of_like, wider_by_size
from .regauge import Excess

SOAKS_A_YEAR = 4.0
"""The first soak is over in about half a year."""
SURELY = 3.1
"""So many standard deviations off is no chance of two gauges."""
BY_LIKE = 0.7
"""So much more where all that is known of a cask's own loss is what its like lose."""
IN_DRY_STORES = 0.25
"""And so much more in dry stores, where some casks lose far more than most."""
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
    size_litres, dry
        Size of the cask, and whether it lies in a store that counts as dry, shape (n,).
    """

    years: Floats
    log_left: Floats
    error: Floats
    steps: Flags
    fresh: Flags
    size_litres: Floats
    dry: Flags

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
    more
        Loss a year beyond the cask's own, as the logarithm of what stays.
    own
        Its own loss a year, likewise.
    gauges_sd
        Relative standard deviation of what two gauges alone say of the share that is left.
    """

    apart: Floats
    needed: Floats
    more: Floats
    own: Floats
    gauges_sd: Floats

    def at(self, row: int) -> Excess:
        """Return what is told of one cask, in percents a year."""
        return Excess(
            apart=float(self.apart[row]),
            needed=float(self.needed[row]),
            more_percent_a_year=float(100.0 * -np.expm1(-self.more[row])),
            own_percent_a_year=float(100.0 * -np.expm1(-self.own[row])),
            gauges_sd=float(self.gauges_sd[row]),
        )


def excess_loss(series: GaugeSeries, house: Gauged, *, back: int = 1) -> Excesses:
    """Say how much more than its own each cask has lost since the gauge *back* before its last.

    Choose 1 for what went since the gauge before, 2 for what goes slowly.

    Parameters
    ----------
    series
        The casks. Spirit that was added ends a series: begin it anew at the next gauge.
    house
        All casks of the house by their first and last gauges, from which it is learnt what
        casks lose.

    Notes
    -----
    With the first gauge's logarithm, first soak s, own yearly loss r, and a loss x a year more from
    the gauge at t_0 on, gauge i reads ``-s (1 - exp(-4 t_i)) - r t_i - x (t_i - t_0)+`` and its
    error. Prior: s from the trade's first soak, r from casks alike (`content.losses_of_like`),
    wider for small casks by ``size^(-1/3)``. x is estimated by generalised least squares with
    variance ``1 / d' S^-1 d`` (Aitken 1936), r, s and known steps in S; `apart` is x over its
    standard deviation. `needed` grows with the part of that variance which comes from not knowing
    r: what casks differ by is not normal in its tails. The constants were set on simulated houses.
    """
    rows, n = np.arange(len(series.years)), series.n_gauges
    there = np.isfinite(series.years)
    years = np.where(there, series.years, 0.0)
    wider = wider_by_size(series.size_litres)
    mean, variance = _own_loss(series, house, wider)
    soaked = np.where(series.fresh[:, None], -np.expm1(-SOAKS_A_YEAR * years), 0.0)
    short = -np.where(there, series.log_left, 0.0)
    short = short - soaked * (SOAK * wider)[:, None] - mean[:, None] * years
    bare = _covariance(series, there, soaked * (SOAK_SD * wider)[:, None])
    whole = bare + _outer(years) * variance[:, None, None]
    begun = n - 1 - back
    start = np.where(begun >= 0, years[rows, np.maximum(begun, 0)], np.inf)
    since = np.where(there, np.maximum(years - np.where(begun >= 0, start, 0.0)[:, None], 0.0), 0.0)
    told = (begun >= 0) & (since.max(axis=1, initial=0.0) > 0.0)
    # The first gauge is what all others are compared with.
    weight = np.linalg.solve(whole[:, 1:, 1:], since[:, 1:, None])[..., 0]
    precision = np.maximum((weight * since[:, 1:]).sum(axis=1), _FLOOR)
    more = (weight * short[:, 1:]).sum(axis=1) / precision
    by_like = ((weight * years[:, 1:]).sum(axis=1) / precision) ** 2 * variance * precision
    last, first = np.maximum(n - 1, 0), np.maximum(begun, 0)
    span = np.where(told, years[rows, last] - years[rows, first], 1.0)
    gone = np.where(there, series.log_left, 0.0)
    gone_a_year = (gone[rows, first] - gone[rows, last]) / span
    return Excesses(
        apart=np.where(told, more * np.sqrt(precision), -np.inf),
        needed=SURELY + BY_LIKE * np.clip(by_like, 0.0, 1.0) + IN_DRY_STORES * series.dry,
        more=np.where(told, more, 0.0),
        own=np.where(told, gone_a_year - more, 0.0),
        gauges_sd=np.hypot(series.error[rows, first], series.error[rows, last]),
    )


def _own_loss(series: GaugeSeries, house: Gauged, wider: Floats) -> tuple[Floats, Floats]:
    """Expected yearly loss of alcohol of each cask, and its variance, by its like alone."""
    mean, variance = np.zeros_like(wider), np.zeros_like(wider)
    for dry in (False, True):
        here = series.dry == dry
        litres, strength = losses_of_like(house, dry=dry)
        mean[here] = litres.mean * wider[here] + strength.mean
        spread = (litres.between + litres.mean_sd**2) * wider[here] ** 2
        variance[here] = spread + strength.between + strength.mean_sd**2
    return mean, variance


def _covariance(series: GaugeSeries, there: Flags, soak_sd: Floats) -> Floats:
    """Covariance of what is read, the first gauge's error in all; of no gauge 1 by itself."""
    error = np.where(there, series.error, 0.0)
    both = there[:, :, None] & there[:, None, :]
    found = _outer(soak_sd) + np.where(both, error[:, :1, None] ** 2, 0.0)
    at = np.arange(error.shape[1])
    found[:, at, at] += np.where(there, error**2, 1.0)
    steps = np.cumsum(series.steps & there, axis=1)
    return found + _FREE_VARIANCE * np.where(both, np.minimum(steps[:, :, None], steps[:, None]), 0)


def _outer(rows: Floats) -> Floats:
    found: Floats = rows[:, :, None] * rows[:, None, :]
    return found
