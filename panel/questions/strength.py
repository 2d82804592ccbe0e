"""Trade arithmetic as it is asked for: plain figures in, the answer of `analysis.strength` out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from analysis.strength import Reduction, Vatting, Weighing


def reduced(litres: float, from_abv: float, to_abv: float) -> Reduction:
    """Return the water that brings spirit down to a strength, % vol."""
    from analysis.strength import reduce_strength

    return reduce_strength(litres, from_abv, to_abv)


def married(parts: Sequence[tuple[float, float]]) -> Vatting:
    """Return what parts come to when they are vatted by mass, each litres and % vol."""
    from analysis.strength import Part, vat

    return vat([Part(litres, abv) for litres, abv in parts])


def at_20(litres: float, abv: float, celsius: float) -> float:
    """Return a volume gauged at another temperature as litres at 20 °C."""
    from analysis.strength import litres_at_20

    return litres_at_20(litres, abv, celsius)


def weighed(kg: float, abv: float) -> Weighing:
    """Return what a net weight in air comes to."""
    from analysis.strength import weigh_in_air

    return weigh_in_air(kg, abv)
