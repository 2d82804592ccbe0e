"""The house's thresholds for two products, each with its reason."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class DifferenceSettings:
    """House defaults; none of them is from a standard.

    Attributes
    ----------
    error
        How often *different* may be said of products that are the same, and *alike* of products
        that are as far apart as was named: 5 in 100, common practice, no source.
    interval_error
        Of the interval of d-prime, both ends together.
    power
        Chance that is taken for enough where a number of answers is proposed: common practice.
    distances
        d-primes for which the power is told.
    usual
        The d-prime that answers are reckoned for where none was named: side by side, 76 answers in
        100 find the stronger of two.
    """

    error: float = 0.05
    interval_error: float = 0.05
    power: float = 0.8
    distances: tuple[float, ...] = (0.5, 1.0, 1.5, 2.0)
    usual: float = 1.0


DEFAULT = DifferenceSettings()
