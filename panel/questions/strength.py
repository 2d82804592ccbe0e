"""Trade arithmetic as it is asked for: plain figures in, the answer of `analysis.strength` out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.errors import OakpanelError
from panel.figures import typed_number

if TYPE_CHECKING:
    from analysis.strength import Evaporation, Reduction, Vatting, Weighing


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


def true_strength(
    reading: float | None, density: float | None, celsius: float, *, glass: bool
) -> float:
    """Return the strength at 20 °C of what was read at another temperature.

    A density in kg/m3 goes before a reading in % vol; a glass hydrometer is itself larger when
    it is warm.
    """
    from analysis.strength import abv_from_density, alcoholometer_strength, density_meter_strength

    if density is not None:
        return abv_from_density(density, celsius)
    read = alcoholometer_strength if glass else density_meter_strength
    return read(reading or 0.0, celsius)


def lost(start: tuple[float, float], end: tuple[float, float], years: float) -> Evaporation:
    """Return what went between two gauges, each litres and % vol."""
    from analysis.strength import evaporation

    return evaporation(*start, *end, years)


def empty_space(size_l: float, litres: float) -> float:
    """Return the litres of a cask that are empty."""
    from analysis.strength import ullage_litres

    return ullage_litres(size_l, litres)


@dataclass(frozen=True)
class YearsLeft:
    """Years after a second gauge until a strength is reached, or why there is no such day."""

    years: float | None
    reason: str | None


def years_left(start_abv: float, end_abv: float, years: float, floor: float) -> YearsLeft:
    """Return the years after a second gauge until a strength, on a straight line."""
    from analysis.strength import years_until_abv

    found = years_until_abv(start_abv, end_abv, years, floor)
    reason = None if found is not None else "the strength does not fall, so there is no such day"
    return YearsLeft(found, reason)


def read_part(text: str) -> tuple[float, float]:
    """Read one cask's litres and strength, as in `190@57.1`.

    Raises
    ------
    OakpanelError
        It is not written so.
    """
    litres, separator, abv = text.partition("@")
    try:
        part = typed_number(litres), typed_number(abv)
    except ValueError:
        separator, part = "", (0.0, 0.0)
    if not separator:
        raise OakpanelError(f"{text!r} is not litres@strength such as 190@57.1")
    return part
