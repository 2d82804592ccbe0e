"""Density of ethanol and water by OIML R 22 (1975).

The same formula and coefficients stand in the annex of Council Directive 76/766/EEC.
Copies with a wrong digit are about (C1,1, C2,3 and C2,5); those below agree with the
published densities to 0.01 kg/m3, which a test holds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from ..digits import in_digits
from ..errors import InputError

LOWEST_TEMPERATURE_C: Final = -20.0
HIGHEST_TEMPERATURE_C: Final = 40.0
REFERENCE_TEMPERATURE_C: Final = 20.0

A: Final[tuple[float, ...]] = (
    998.20123,
    -192.9769495,
    389.1238958,
    -1668.103923,
    13522.15441,
    -88292.78388,
    306287.4042,
    -613838.1234,
    747017.2998,
    -547846.1354,
    223446.0334,
    -39032.85426,
)
B: Final[tuple[float, ...]] = (
    -0.20618513,
    -0.0052682542,
    3.6130013e-05,
    -3.8957702e-07,
    7.169354e-09,
    -9.9739231e-11,
)
C: Final[tuple[tuple[float, ...], ...]] = (
    (
        0.1693443461530087,
        -10.46914743455169,
        71.96353469546523,
        -704.7478054272792,
        3924.090430035045,
        -12101.64659068747,
        22486.46550400788,
        -26055.62982188164,
        18523.73922069467,
        -7420.201433430137,
        1285.617841998974,
    ),
    (
        -0.0119301300505701,
        0.2517399633803461,
        -2.170575700536993,
        13.53034988843029,
        -50.29988758547014,
        109.635566657757,
        -142.2753946421155,
        108.043594285623,
        -44.14153236817392,
        7.442971530188783,
    ),
    (
        -0.0006802995733503803,
        0.01876837790289664,
        -0.2002561813734156,
        1.02299296671922,
        -2.895696483903638,
        4.810060584300675,
        -4.672147440794683,
        2.458043105903461,
        -0.5411227621436812,
    ),
    (
        4.075376675622027e-06,
        -8.76305857347111e-06,
        6.515031360099368e-06,
        -1.51578483698721e-06,
    ),
    (
        -2.788074354782409e-08,
        1.345612883493354e-08,
    ),
)


def require_within(name: str, value: float, low: float, high: float, unit: str) -> float:
    """Return `value`, or refuse it with its name, its limits and what to look at.

    Raises
    ------
    InputError
        If `value` is not a number between `low` and `high`.
    """
    if not low <= value <= high:  # also false for NaN
        raise InputError(
            f"{name} is {in_digits(value, 'g')} {unit}, but it must lie between "
            f"{in_digits(low, 'g')} and {in_digits(high, 'g')} {unit}: "
            "check the figure and its unit."
        )
    return value


def require_positive(name: str, value: float, unit: str) -> float:
    """Return `value`, or refuse what is zero, negative or not a finite number.

    Raises
    ------
    InputError
        If `value` is not finite and above zero.
    """
    if not (math.isfinite(value) and value > 0):
        raise InputError(
            f"{name} is {in_digits(value, 'g')} {unit}, but it must be above 0: check the figure."
        )
    return value


def require_not_negative(name: str, value: float, unit: str) -> float:
    """Return `value`, or refuse what is negative or not a finite number.

    Raises
    ------
    InputError
        If `value` is not finite or below zero.
    """
    if not (math.isfinite(value) and value >= 0):
        raise InputError(
            f"{name} is {in_digits(value, 'g')} {unit}, but it cannot be below 0: check the figure."
        )
    return value


def _polynomial(coefficients: Sequence[float], x: float) -> float:
    total = 0.0
    for coefficient in reversed(coefficients):
        total = total * x + coefficient
    return total


def formula_density(mass_fraction: float, temperature_c: float) -> float:
    """Evaluate the R 22 formula without looking at its limits (kg/m3)."""
    total = _polynomial(A, mass_fraction)
    degrees = temperature_c - REFERENCE_TEMPERATURE_C
    if degrees == 0.0:  # most calls: strengths and volumes are kept at 20 °C
        return total
    total += degrees * _polynomial(B, degrees)
    power = 1.0
    for row in C:
        power *= degrees
        total += power * mass_fraction * _polynomial(row, mass_fraction)
    return total


def density_kg_m3(mass_fraction: float, temperature_c: float = 20.0) -> float:
    """Density of a mixture of ethanol and water, in vacuum.

    Choose it when the share by mass is known; `density_from_abv` takes % vol. Below 0 °C
    the formula also answers for weak mixtures that would in truth be frozen.

    Parameters
    ----------
    mass_fraction : float
        Ethanol by mass, p, 0 to 1.
    temperature_c : float
        Temperature t in °C, -20 to 40.

    Returns
    -------
    float
        rho(p, t) = A1 + sum_k A_k p^(k-1) + sum_k B_k (t-20)^k
        + sum_i sum_k C_ik p^k (t-20)^i, in kg/m3.

    Raises
    ------
    InputError
        If either figure is outside the range the formula was made for.

    Notes
    -----
    Source: OIML R 22 (1975), International Alcoholometric Tables.

    Examples
    --------
    >>> round(density_kg_m3(0.5), 2)
    913.77
    """
    require_within("Mass fraction", mass_fraction, 0.0, 1.0, "kg/kg")
    require_temperature(temperature_c)
    return formula_density(mass_fraction, temperature_c)


def require_temperature(temperature_c: float) -> float:
    """Return the temperature, or refuse one that the formula was not made for.

    Raises
    ------
    InputError
        If it lies outside -20 to 40 °C.
    """
    return require_within(
        "Temperature", temperature_c, LOWEST_TEMPERATURE_C, HIGHEST_TEMPERATURE_C, "°C"
    )


WATER_DENSITY_20_KG_M3: Final = formula_density(0.0, 20.0)
ETHANOL_DENSITY_20_KG_M3: Final = formula_density(1.0, 20.0)
