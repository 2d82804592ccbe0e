"""What casks hold on a day: moved on from the last gauge by their own losses, with the error."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..array_types import Floats
from .yearly import (
    ABV_ERROR,
    LEAST_SPAN_YEARS,
    SOAK,
    SOAK_SD,
    SOAKS_A_YEAR,
    Gauged,
    Rates,
    wider_by_size,
    yearly_losses,
)

SURE_Z = 1.6448536269514722
"""Nineteen in twenty lie above this many standard deviations below: ends of 90 in 100."""
LEAST_LITRES = 0.5
"""Below it a cask counts as empty: an error relative to what is left says nothing."""


@dataclass(frozen=True, eq=False)
class Contents:
    """What casks hold on a day, one row a cask.

    Attributes
    ----------
    litres, abv_percent
        Expected.
    litres_own_sd, litres_shared_sd, abv_own_sd, abv_shared_sd
        Relative standard deviations: of each cask's own error, and of the one all casks share.
    litres_rate, abv_rate
        The yearly losses behind them.
    """

    litres: Floats
    abv_percent: Floats
    litres_own_sd: Floats
    litres_shared_sd: Floats
    abv_own_sd: Floats
    abv_shared_sd: Floats
    litres_rate: Rates
    abv_rate: Rates

    def litres_between(self) -> tuple[Floats, Floats]:
        """Ends that hold the litres 90 times in 100."""
        return _between(self.litres, np.hypot(self.litres_own_sd, self.litres_shared_sd))

    def abv_between(self) -> tuple[Floats, Floats]:
        """Ends that hold the strength 90 times in 100."""
        return _between(self.abv_percent, np.hypot(self.abv_own_sd, self.abv_shared_sd))


def contents_on(gauged: Gauged) -> Contents:
    """Move what casks hold by their last gauge to a day.

    Notes
    -----
    With the yearly losses a and b of litres and strength, ``litres exp(-a t)`` and
    ``strength exp(-b t)``, less ``taken exp(-a s)`` of what was taken s years before the day. The
    error is that of the last gauge and t times that of the loss; a last gauge that reads high
    also makes the loss look small, so the two go together. What was taken was measured: the error
    in litres of the whole cask stays with the rest.

    Examples
    --------
    >>> import numpy as np
    >>> one, no = np.ones(1), np.zeros(1, dtype=bool)
    >>> cask = Gauged(58.2 * one, 2 * one, 168 * one, 58.2 * one, 0.004 * one,
    ...     0 * one, 0 * one, 0 * one, 0 * one,
    ...     200 * one, 63.5 * one, 0.005 * one, 10 * one, no, 200 * one, no)
    >>> now = contents_on(cask)
    >>> now.litres.round(1).tolist(), now.abv_percent.round(1).tolist()
    ([162.3], [57.2])
    """
    wider = wider_by_size(gauged.size_litres)
    litres_rate = yearly_losses(gauged, wider=wider)
    abv_rate = yearly_losses(gauged, of_strength=True)
    abv, abv_own, abv_shared = _strength_on(gauged, abv_rate)
    t = gauged.since_years
    litres_own = np.hypot(
        _own_sd(gauged.litres_error, litres_rate, gauged), _to_soak(gauged) * SOAK_SD * wider
    )
    whole = gauged.last_litres * np.exp(-litres_rate.loss * t - _to_soak(gauged) * SOAK * wider)
    litres = _what_is_left(whole, gauged, litres_rate.loss)
    rest = whole / np.maximum(litres, LEAST_LITRES)
    return Contents(
        litres=litres,
        abv_percent=abv,
        litres_own_sd=litres_own * rest,
        litres_shared_sd=litres_rate.shared_sd * t * rest,
        abv_own_sd=abv_own,
        abv_shared_sd=abv_shared,
        litres_rate=litres_rate,
        abv_rate=abv_rate,
    )


def strength_on(gauged: Gauged, rate: Rates) -> tuple[Floats, Floats, Floats]:
    """Return the strength of casks on a day, and the ends that hold it 90 times in 100, % vol.

    Parameters
    ----------
    gauged
        The casks, all of the house or some.
    rate
        What each loses of its strength a year, learnt of the whole house (`yearly_losses`).
    """
    abv, own, shared = _strength_on(gauged, rate)
    return (abv, *_between(abv, np.hypot(own, shared)))


def _strength_on(gauged: Gauged, rate: Rates) -> tuple[Floats, Floats, Floats]:
    """Strength, and its relative standard deviations: each cask's own, and what all share."""
    t, error = gauged.since_years, ABV_ERROR / np.maximum(gauged.abv_percent, 1.0)
    abv = np.minimum(gauged.abv_percent * np.exp(-rate.loss * t), 100.0)
    return abv, _own_sd(error, rate, gauged), rate.shared_sd * t


def _what_is_left(whole: Floats, gauged: Gauged, loss: Floats) -> Floats:
    """What a cask holds that would hold *whole* had nothing been taken or added since its gauge."""
    taken = gauged.taken_litres * np.exp(-loss * gauged.taken_years)
    added = gauged.added_litres * np.exp(-loss * gauged.added_years)
    return np.maximum(whole - taken + added, 0.0)


def _to_soak(gauged: Gauged) -> Floats:
    """How much of the first soak is still to come after the last gauge, from 0 to 1."""
    only = gauged.fresh & (gauged.span_years <= 0.0)
    return np.where(only, -np.expm1(-SOAKS_A_YEAR * gauged.since_years), 0.0)


def _own_sd(error: Floats, rate: Rates, gauged: Gauged) -> Floats:
    t, span = gauged.since_years, np.maximum(gauged.span_years, LEAST_SPAN_YEARS)
    together = 2.0 * rate.weight * error**2 * t / span
    found: Floats = np.sqrt(error**2 + (rate.own_sd * t) ** 2 + together)
    return found


def _between(value: Floats, sd: Floats) -> tuple[Floats, Floats]:
    return value * np.exp(-SURE_Z * sd), value * np.exp(SURE_Z * sd)


def years_until(abv_percent: Floats, yearly_loss: Floats, floor_abv_percent: float) -> Floats:
    """Years from a gauge until strength falls under a floor; infinite where it does not fall.

    Examples
    --------
    >>> years_until(np.array([41.0, 41.0]), np.array([0.01, 0.0]), 40.0).round(1).tolist()
    [2.5, inf]
    """
    left = np.log(np.maximum(abv_percent, 1e-9) / floor_abv_percent)
    falls = yearly_loss > 1e-6
    found: NDArray[np.float64] = np.where(
        falls, np.maximum(left, 0.0) / np.where(falls, yearly_loss, 1.0), np.inf
    )
    return found
