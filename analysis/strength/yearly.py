"""What casks lose in a year by their own gauges, drawn towards what others of the house lose.

A cask's own yearly loss, between its gauges, is drawn towards that of the house the more, the
less two gauges can tell: by the error of the gauges over the years between them against what the
casks differ by. A cask with one gauge goes as the house does; a house without two gauges of any
cask goes as the trade does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..array_types import Flags, Floats

ABV_ERROR = 0.15
"""Standard deviation of a strength read at the cask, % vol: common practice, no source."""
SOAK, SOAK_SD = 0.02, 0.01
"""What wood drinks in its first half year, a share of what was filled (trade: 2 to 3 %)."""
SOAKS_A_YEAR = 4.0
"""The first soak is over in about half a year."""
USUAL_SIZE_LITRES = 250.0
LEAST_SPAN_YEARS = 0.5
"""Two gauges closer than this tell nothing of a year."""
_TRADE_WORTH = 3.0
"""Casks that the trade's figures count as, beside those of the house."""


@dataclass(frozen=True)
class Trade:
    """What is lost in a year before a house knows better, as a share, and how casks differ.

    Litres of a cask of 250 L, and strength. Scotland loses 1.5 to 2.5 % of its alcohol a year,
    hot and dry stores far more while strength may rise (figures of the trade).
    """

    litres: float
    litres_sd: float
    abv: float
    abv_sd: float

    @property
    def alcohol(self) -> float:
        """Litres and strength together."""
        return self.litres + self.abv

    @property
    def alcohol_sd(self) -> float:
        """How casks differ in that."""
        return math.hypot(self.litres_sd, self.abv_sd)


COOL = Trade(litres=0.015, litres_sd=0.004, abv=0.005, abv_sd=0.002)
DRY = Trade(litres=0.06, litres_sd=0.02, abv=0.0, abv_sd=0.006)


@dataclass(frozen=True, eq=False)
class Gauged:
    """Gauges of casks, one row a cask.

    Attributes
    ----------
    abv_percent
        Strength by the last gauge, mixed with what was added since.
    since_years
        From that gauge to the day asked.
    last_litres, last_abv_percent, litres_error
        That gauge, and the relative standard deviation of its litres.
    taken_litres, taken_years, added_litres, added_years
        What was taken out and what was added since, and how long before the day asked on average:
        what is out loses nothing more in the cask.
    first_litres, first_abv_percent, first_error
        The gauge that its own loss is reckoned from, what was taken between the two off.
    span_years
        Between the two; 0 where there is one gauge.
    fresh
        Whether the first was taken as the cask was filled: wood drinks at first.
    size_litres, dry
        Size of the cask, and whether it lies in a store that counts as dry.
    """

    abv_percent: Floats
    since_years: Floats
    last_litres: Floats
    last_abv_percent: Floats
    litres_error: Floats
    taken_litres: Floats
    taken_years: Floats
    added_litres: Floats
    added_years: Floats
    first_litres: Floats
    first_abv_percent: Floats
    first_error: Floats
    span_years: Floats
    fresh: Flags
    size_litres: Floats
    dry: Flags


@dataclass(frozen=True, eq=False)
class Rates:
    """Yearly loss of each cask as the logarithm of what stays, with its errors.

    Attributes
    ----------
    loss
        Expected loss.
    own_sd, shared_sd
        Error of the cask's own, and of the house's mean, which all of its casks share.
    weight
        How much of `loss` is from the cask's own gauges.
    """

    loss: Floats
    own_sd: Floats
    shared_sd: Floats
    weight: Floats


def wider_by_size(size_litres: Floats) -> Floats:
    """By how much more than a cask of 250 L one of another size loses: by surface to volume."""
    found: Floats = (USUAL_SIZE_LITRES / size_litres) ** (1.0 / 3.0)
    return found


def yearly_losses(
    gauged: Gauged, *, of_strength: bool = False, wider: Floats | None = None
) -> Rates:
    """Each cask's yearly loss of litres, or of strength, drawn towards that of its like.

    Parameters
    ----------
    gauged
        The casks.
    of_strength
        Strength instead of litres.
    wider
        By how much more than a cask of 250 L each one loses.

    Notes
    -----
    The house's mean is the median over casks with two gauges and what casks differ by comes from
    the median deviation, so that a leak moves neither; the trade's figures count as three casks.
    Casks in dry stores are taken by themselves.
    """
    size = np.ones_like(gauged.last_litres) if wider is None else wider
    seen = _measured(gauged, size, of_strength=of_strength)
    loss, own, shared, weight = (np.zeros_like(seen.rate) for _ in range(4))
    for dry in (False, True):
        here = gauged.dry == dry
        like = _like(gauged, seen, dry=dry, of_strength=of_strength)
        pull = like.between / (like.between + seen.variance[here])
        apart = np.where(seen.twice[here], seen.rate[here] - like.mean, 0.0)
        found = (like.mean + pull * apart) * size[here]
        # Strength may rise in a dry store; no litres come into a cask by themselves.
        loss[here] = found if of_strength else np.maximum(found, 0.0)
        own[here] = np.sqrt(like.between * (1.0 - pull)) * size[here]
        shared[here] = like.mean_sd * (1.0 - pull) * size[here]
        weight[here] = pull
    return Rates(loss, own, shared, weight)


@dataclass(frozen=True)
class _Like:
    """What casks of one kind of store lose a year: the mean, what they differ by, its error.

    As the logarithm of what stays, for a cask of 250 L; `between` is a variance.
    """

    mean: float
    between: float
    mean_sd: float


@dataclass(frozen=True, eq=False)
class _Measured:
    """Yearly loss by two gauges alone, as of a cask of 250 L, and whether there are two."""

    rate: Floats
    variance: Floats
    twice: Flags


def _measured(gauged: Gauged, size: Floats, *, of_strength: bool) -> _Measured:
    first, last = gauged.first_litres, gauged.last_litres
    error = np.hypot(gauged.first_error, gauged.litres_error)
    if of_strength:
        first, last = gauged.first_abv_percent, gauged.last_abv_percent
        error = np.sqrt(2.0) * ABV_ERROR / np.maximum(last, 1.0)
    elif gauged.fresh.any():
        error = np.hypot(error, np.where(gauged.fresh, SOAK_SD * size, 0.0))
    twice = (gauged.span_years >= LEAST_SPAN_YEARS) & (first > 0.0) & (last > 0.0)
    years = np.where(twice, gauged.span_years, 1.0)
    rate = np.where(twice, np.log(np.where(twice, first / np.where(last > 0, last, 1.0), 1.0)), 0.0)
    if not of_strength:
        rate = rate - np.where(twice & gauged.fresh, SOAK * size, 0.0)
    rate = rate / years / size
    variance = np.where(twice, (error / years / size) ** 2, np.inf)
    return _Measured(rate, variance, twice)


def _like(gauged: Gauged, seen: _Measured, *, dry: bool, of_strength: bool) -> _Like:
    trade = DRY if dry else COOL
    mean, spread = (trade.abv, trade.abv_sd) if of_strength else (trade.litres, trade.litres_sd)
    told = (gauged.dry == dry) & seen.twice
    return _Like(*_house(seen.rate[told], seen.variance[told], mean, spread))


def _house(
    rate: Floats, variance: Floats, trade_mean: float, trade_sd: float
) -> tuple[float, float, float]:
    """Mean of the house, variance between its casks, and the error of the mean."""
    n = len(rate)
    share = n / (n + _TRADE_WORTH)
    if n == 0:
        return trade_mean, trade_sd**2, trade_sd
    middle = float(np.median(rate))
    apart = 1.4826 * float(np.median(np.abs(rate - middle)))
    seen = max(apart**2 - float(np.median(variance)), 0.0)
    mean = share * middle + (1.0 - share) * trade_mean
    between = share * seen + (1.0 - share) * trade_sd**2
    noise = float(np.median(variance)) + between
    mean_sd = np.sqrt(0.5 * np.pi * noise / n) * share + (1.0 - share) * trade_sd
    return mean, max(between, 1e-10), float(mean_sd)
