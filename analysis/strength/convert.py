"""Between % vol, share by mass and density, each from the other."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from ..digits import in_digits
from ..errors import InputError
from .density import (
    ETHANOL_DENSITY_20_KG_M3,
    REFERENCE_TEMPERATURE_C,
    density_kg_m3,
    formula_density,
    require_temperature,
    require_within,
)

_ROOT_WIDTH: Final = 1e-15
_MOST_STEPS: Final = 200

ROUNDING_KG_M3 = 1e-6


def _root(gap: Callable[[float], float], low: float, high: float) -> float:
    """Where `gap` crosses zero between `low` and `high`.

    False position with halved weights (Illinois); every third step halves the bracket, so
    that it shrinks whatever the curve does.
    """
    gap_low, gap_high = gap(low), gap(high)
    if gap_low == 0.0:
        return low
    if gap_high == 0.0:
        return high
    middle = low
    for step in range(1, _MOST_STEPS):
        middle = 0.5 * (low + high)
        if step % 3:
            middle = high - gap_high * (high - low) / (gap_high - gap_low)
        gap_middle = gap(middle)
        if gap_middle == 0.0 or abs(high - low) < _ROOT_WIDTH:
            break
        if (gap_middle > 0) == (gap_high > 0):
            high, gap_high, gap_low = middle, gap_middle, gap_low * 0.5
        else:
            low, gap_low, gap_high = middle, gap_middle, gap_high * 0.5
    return middle


def require_abv(abv_percent: float, name: str = "Strength") -> float:
    """Return the strength, or refuse one outside 0 to 100 % vol.

    Raises
    ------
    InputError
        If it is not a number from 0 to 100.
    """
    return require_within(name, abv_percent, 0.0, 100.0, "% vol")


def abv_from_mass_fraction(mass_fraction: float) -> float:
    """Strength in % vol at 20 °C of a mixture whose share by mass is known.

    Parameters
    ----------
    mass_fraction : float
        Ethanol by mass, p, 0 to 1.

    Returns
    -------
    float
        q = 100 p rho(p, 20) / rho(1, 20), in % vol.

    Raises
    ------
    InputError
        If `mass_fraction` is outside 0 to 1.

    Notes
    -----
    Source: OIML R 22 (1975), definition of alcoholic strength by volume.

    Examples
    --------
    >>> round(abv_from_mass_fraction(0.333), 2)
    40.0
    """
    return 100.0 * mass_fraction * density_kg_m3(mass_fraction) / ETHANOL_DENSITY_20_KG_M3


def mass_fraction_from_abv(abv_percent: float) -> float:
    """Ethanol by mass in a mixture of the given strength.

    Parameters
    ----------
    abv_percent : float
        Strength q in % vol at 20 °C, 0 to 100.

    Returns
    -------
    float
        p with 100 p rho(p, 20) / rho(1, 20) = q, by safeguarded root finding (p rho(p, 20)
        rises all the way, so there is one answer).

    Raises
    ------
    InputError
        If `abv_percent` is outside 0 to 100.

    Notes
    -----
    Source: OIML R 22 (1975).

    Examples
    --------
    >>> round(mass_fraction_from_abv(60), 5)
    0.52088
    """
    aim = require_abv(abv_percent) * ETHANOL_DENSITY_20_KG_M3 / 100.0
    return _root(lambda p: p * formula_density(p, REFERENCE_TEMPERATURE_C) - aim, 0.0, 1.0)


def density_from_abv(abv_percent: float, temperature_c: float = 20.0) -> float:
    """Density of a spirit of known strength at a temperature.

    Parameters
    ----------
    abv_percent : float
        Strength in % vol at 20 °C, 0 to 100.
    temperature_c : float
        Temperature in °C, -20 to 40.

    Returns
    -------
    float
        rho(p(q), t) in kg/m3, in vacuum.

    Raises
    ------
    InputError
        If either figure is out of range.

    Notes
    -----
    Source: OIML R 22 (1975).

    Examples
    --------
    >>> round(density_from_abv(46), 2), round(density_from_abv(46, 10), 2)
    (937.73, 944.85)
    """
    return density_kg_m3(mass_fraction_from_abv(abv_percent), temperature_c)


def mass_fraction_from_density(density: float, temperature_c: float = 20.0) -> float:
    """Ethanol by mass in a mixture whose density was measured.

    Parameters
    ----------
    density : float
        Density in vacuum at `temperature_c`, kg/m3.
    temperature_c : float
        Temperature in °C, -20 to 40.

    Returns
    -------
    float
        p with rho(p, t) = density (density falls all the way from water to ethanol at every
        temperature in range, so there is one answer).

    Raises
    ------
    InputError
        If no mixture has that density at that temperature.

    Notes
    -----
    Source: OIML R 22 (1975).

    Examples
    --------
    >>> round(mass_fraction_from_density(913.77), 4)
    0.5
    """
    require_temperature(temperature_c)
    ethanol, water = formula_density(1.0, temperature_c), formula_density(0.0, temperature_c)
    # The last bits of the formula may pass its own ends; no meter reads a millionth of a kg/m3.
    if not ethanol - ROUNDING_KG_M3 <= density <= water + ROUNDING_KG_M3:
        raise InputError(
            f"Density is {in_digits(density, 'g')} kg/m3, but at "
            f"{in_digits(temperature_c, 'g')} °C ethanol and water lie "
            f"between {in_digits(ethanol, '.2f')} and {in_digits(water, '.2f')} kg/m3: "
            "check the figure, its unit and the "
            "temperature."
        )
    within = min(max(density, ethanol), water)
    return _root(lambda p: formula_density(p, temperature_c) - within, 0.0, 1.0)


def abv_from_density(density: float, temperature_c: float = 20.0) -> float:
    """Strength in % vol at 20 °C from a density measured at a temperature.

    Parameters
    ----------
    density : float
        Density in vacuum at `temperature_c`, kg/m3.
    temperature_c : float
        Temperature in °C, -20 to 40.

    Returns
    -------
    float
        Strength in % vol at 20 °C.

    Raises
    ------
    InputError
        If no mixture has that density at that temperature.

    Notes
    -----
    Source: OIML R 22 (1975).

    Examples
    --------
    >>> round(abv_from_density(905.71, 10), 1)
    65.0
    """
    return abv_from_mass_fraction(mass_fraction_from_density(density, temperature_c))
