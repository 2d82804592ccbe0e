"""Figures as people read them, alike wherever they stand."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal


def chance(probability: float) -> str:
    """Return a chance in hundredths; never 0 or 1, which no panel can know."""
    if probability < 0.005:
        return "<.01"
    return ">.99" if probability > 0.995 else f"{probability:.2f}".lstrip("0")


TENTH = Decimal("0.1")


def tenths(number: float) -> str:
    """Return a number with one decimal; a half goes up, as on paper: 6.35 is 6.4.

    What is rounded is the number as it is written, not the binary one just beside it.
    """
    return str(Decimal(repr(float(number))).quantize(TENTH, ROUND_HALF_UP))
