"""Figures as people read them, alike wherever they stand."""

from __future__ import annotations


def chance(probability: float) -> str:
    """Return a chance in hundredths; never 0 or 1, which no panel can know."""
    if probability < 0.005:
        return "<.01"
    return ">.99" if probability > 0.995 else f"{probability:.2f}".lstrip("0")
