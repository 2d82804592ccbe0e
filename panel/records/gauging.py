"""A gauge as it is kept: bulk litres at 20 °C, whatever the spirit had when it was read."""

from __future__ import annotations

HUNDREDTHS = 2
"""No dip is read closer than to some hundredths of a litre."""


def kept_litres(litres: float, abv: float, celsius: float) -> float:
    """Return litres read at the temperature of the cask as litres at 20 °C (OIML R 22)."""
    from analysis.strength import litres_at_20

    return round(litres_at_20(litres, abv, celsius), HUNDREDTHS)
