"""How much is surely there: litres of casks are known as well as their gauges, no better.

A cask that is emptied gives what is in it, so its whole error counts; of a part that is measured
as it is drawn only the strength is in doubt. Errors of single casks average out over a vatting,
what the house does not know of its losses does not. The number that is safe to print is the one
that the vatting fills nineteen times in twenty.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..array_types import Floats, Ints
from ..strength.content import SURE_Z
from .limits import Limits
from .stock import Stock

_AVERAGED = 0.5
"""Casks of unlike size and gauge average out as so many alike."""
_HAIR_LITRES = 1e-6


@dataclass(frozen=True)
class Sure:
    """Relative ends that hold what a vatting comes to 90 times in 100."""

    low: float
    high: float


def sure_of(stock: Stock, limits: Limits, rows: Ints, litres: Floats) -> Sure:
    """Ends of what some litres of some casks come to, as shares of what is expected."""
    own, shared = _errors(stock, limits)
    emptied = litres >= stock.available_litres[rows] - _HAIR_LITRES
    strength_only = limits.abv_percent is not None
    abv_own, abv_shared = stock.abv_errors if strength_only else (np.zeros_like(own),) * 2
    amount = litres * stock.abv_percent[rows] if strength_only else litres
    each = np.where(emptied, own[rows], abv_own[rows])
    common = np.where(emptied, shared[rows], abv_shared[rows])
    total = float(amount.sum())
    if total <= 0.0:
        return Sure(1.0, 1.0)
    sd = np.sqrt(((amount * each) ** 2).sum() + (amount * common).sum() ** 2) / total
    return Sure(max(1.0 - SURE_Z * float(sd), 0.0), 1.0 + SURE_Z * float(sd))


def safe_share(stock: Stock, limits: Limits, needed: float, expected: Floats) -> Floats:
    """Which part of each cask's quantity to count on when a vatting is chosen, shape (casks,).

    Linear in the casks, so that a search can hold to it: each one's own error is taken as smaller
    by the root of the number of casks that the quantity takes at least.
    """
    own, shared = _errors(stock, limits)
    if not own.any() and not shared.any():
        return np.ones(len(stock))
    casks = stock.margin_casks
    if casks is None:
        there = expected[expected > 0.0]
        casks = _AVERAGED * needed / float(np.median(there)) if len(there) else 1.0
        if limits.casks_max is not None:
            casks = min(casks, _AVERAGED * limits.casks_max)
    margin = SURE_Z * (shared + own / np.sqrt(max(casks, 1.0)))
    found: Floats = np.maximum(1.0 - margin, 0.0)
    return found


def _errors(stock: Stock, limits: Limits) -> tuple[Floats, Floats]:
    """Own and shared relative errors of the quantity: pure alcohol, or bulk without water."""
    if limits.abv_percent is None:
        return stock.litres_errors
    (litres, litres_shared), (abv, abv_shared) = stock.litres_errors, stock.abv_errors
    return np.hypot(litres, abv), litres_shared + abv_shared
