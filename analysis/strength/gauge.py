"""What instruments say, and what is in the cask: strength, volume and weight."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ..as_json import AsJson
from ..readable import Readable
from .convert import abv_from_density, density_from_abv, require_abv
from .density import (
    REFERENCE_TEMPERATURE_C,
    require_positive,
    require_temperature,
)

# Cubic expansion of soda-lime glass, the material of alcoholometers (OIML R 22).
SODA_LIME_EXPANSION_PER_K: Final = 25e-6
# Conventional air and weights: a balance is adjusted with weights of 8000 kg/m3.
AIR_DENSITY_KG_M3: Final = 1.2
WEIGHTS_DENSITY_KG_M3: Final = 8000.0


@dataclass(frozen=True, repr=False)
class Weighing(AsJson, Readable):
    """A cask gauged by weight: what the net weight in air comes to."""

    net_kg_in_air: float
    abv_percent: float
    mass_kg: float
    litres: float
    lpa: float


def alcoholometer_strength(reading_abv_percent: float, temperature_c: float) -> float:
    """True strength from a glass alcoholometer read away from 20 °C.

    Choose it for a glass hydrometer graduated in % vol at 20 °C; `density_meter_strength`
    for an instrument without glass in the liquid.

    Parameters
    ----------
    reading_abv_percent : float
        What the stem says, % vol, 0 to 100.
    temperature_c : float
        Temperature of the spirit in °C, -20 to 40.

    Returns
    -------
    float
        q with rho(q, t) = rho(reading, 20) / (1 + 25e-6 (t - 20)): the float displaces its
        own mass, and its glass is larger when it is warm.

    Raises
    ------
    InputError
        If a figure is out of range, or no mixture would give that reading.

    Notes
    -----
    Source: OIML R 22 (1975); soda-lime glass, 25e-6 per kelvin.

    Examples
    --------
    >>> round(alcoholometer_strength(60, 15), 2)
    61.73
    """
    require_temperature(temperature_c)
    glass = 1.0 + SODA_LIME_EXPANSION_PER_K * (temperature_c - REFERENCE_TEMPERATURE_C)
    scale_density = density_from_abv(require_abv(reading_abv_percent, "Reading"))
    return abv_from_density(scale_density / glass, temperature_c)


def density_meter_strength(reading_abv_percent: float, temperature_c: float) -> float:
    """True strength from a density meter that shows strength as if it were at 20 °C.

    Parameters
    ----------
    reading_abv_percent : float
        The strength that has the measured density at 20 °C, % vol, 0 to 100.
    temperature_c : float
        Temperature of the spirit in the cell in °C, -20 to 40.

    Returns
    -------
    float
        q with rho(q, t) = rho(reading, 20): no glass term. For a meter that shows density,
        use `abv_from_density`.

    Raises
    ------
    InputError
        If a figure is out of range, or no mixture would give that reading.

    Notes
    -----
    Source: OIML R 22 (1975).

    Examples
    --------
    >>> round(density_meter_strength(60, 15), 2)
    61.78
    """
    return abv_from_density(
        density_from_abv(require_abv(reading_abv_percent, "Reading")), temperature_c
    )


def litres_at_20(litres: float, abv_percent: float, temperature_c: float) -> float:
    """Volume at 20 °C of spirit gauged at another temperature.

    Parameters
    ----------
    litres : float
        Volume as gauged, at `temperature_c`.
    abv_percent : float
        True strength, % vol at 20 °C.
    temperature_c : float
        Temperature of the spirit when it was gauged, °C.

    Returns
    -------
    float
        V20 = V rho(q, t) / rho(q, 20), in litres. The cask's own expansion is left out.

    Raises
    ------
    InputError
        If a figure is out of range.

    Notes
    -----
    Source: OIML R 22 (1975).

    Examples
    --------
    >>> round(litres_at_20(200, 60, 10), 2)
    201.74
    """
    require_positive("Volume", litres, "L")
    return litres * density_from_abv(abv_percent, temperature_c) / density_from_abv(abv_percent)


def weigh_in_air(net_kg_in_air: float, abv_percent: float) -> Weighing:
    """Litres and pure alcohol from a net weight, corrected for the lift of air.

    Choose it when full and empty cask were weighed: it does not depend on temperature.

    Parameters
    ----------
    net_kg_in_air : float
        Weight of the spirit alone, W, as a balance shows it, kg.
    abv_percent : float
        True strength, % vol at 20 °C.

    Returns
    -------
    Weighing
        m = W [1 + 1.2 (1/rho - 1/8000)] kg; litres at 20 °C = 1000 m / rho.

    Raises
    ------
    InputError
        If the weight is not above zero or the strength is out of range.

    Notes
    -----
    Source: OIML R 22 (1975) for rho; air 1.2 kg/m3 and weights 8000 kg/m3 are the
    conventional values of weighing (OIML D 28).

    Examples
    --------
    >>> weighing = weigh_in_air(180.0, 58.0)
    >>> round(weighing.litres, 2), round(weighing.lpa, 2)
    (197.27, 114.42)
    """
    require_positive("Net weight", net_kg_in_air, "kg")
    density = density_from_abv(abv_percent)
    lift = AIR_DENSITY_KG_M3 * (1.0 / density - 1.0 / WEIGHTS_DENSITY_KG_M3)
    mass_kg = net_kg_in_air * (1.0 + lift)
    litres = 1000.0 * mass_kg / density
    return Weighing(net_kg_in_air, abv_percent, mass_kg, litres, litres * abv_percent / 100.0)
