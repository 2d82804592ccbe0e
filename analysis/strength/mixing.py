"""Putting parts together, and what that comes to in bottles."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..as_json import AsJson
from ..digits import in_digits
from ..errors import InputError
from ..readable import Readable
from .convert import (
    abv_from_mass_fraction,
    density_from_abv,
    mass_fraction_from_abv,
)
from .density import (
    density_kg_m3,
    require_not_negative,
    require_positive,
)


@dataclass(frozen=True)
class Part:
    """What one cask gives to a vatting, at 20 °C; water is a part of 0 % vol."""

    litres: float
    abv_percent: float


@dataclass(frozen=True, repr=False)
class Vatting(AsJson, Readable):
    """Parts mixed; all litres at 20 °C."""

    parts: tuple[Part, ...]
    bulk_litres: float
    abv_percent: float
    lpa: float
    mass_kg: float
    sum_of_parts_litres: float
    contraction_litres: float


@dataclass(frozen=True, repr=False)
class Bottling(AsJson, Readable):
    """What a volume comes to in bottles."""

    bulk_litres: float
    loss_fraction: float
    bottle_ml: float
    bottles: int
    bottled_litres: float
    lost_litres: float
    left_over_litres: float


def vat(parts: Sequence[Part]) -> Vatting:
    """Mix any number of parts by mass.

    Choose it instead of the litre-weighted mean: litres do not add up, masses do.

    Parameters
    ----------
    parts : sequence of Part
        Litres and strength of each; a part of 0 litres is allowed and changes nothing.

    Returns
    -------
    Vatting
        m = sum V_i rho_i; p = sum m_i p_i / m; bulk = m / rho(p, 20);
        lpa = sum V_i q_i / 100; contraction = sum V_i - bulk.

    Raises
    ------
    InputError
        If there is no part, nothing in any of them, or a figure is out of range.

    Notes
    -----
    Source: OIML R 22 (1975).

    Examples
    --------
    >>> vatting = vat([Part(50, 100), Part(50, 0)])
    >>> round(vatting.bulk_litres, 2)
    96.46
    """
    mass_kg = alcohol_kg = 0.0
    for part in parts:
        require_not_negative("Litres of a part", part.litres, "L")
        part_kg = part.litres * density_from_abv(part.abv_percent) / 1000.0
        mass_kg += part_kg
        alcohol_kg += part_kg * mass_fraction_from_abv(part.abv_percent)
    if mass_kg <= 0.0:
        raise InputError("The vatting is empty: give at least one part with litres above 0.")
    mass_fraction = min(1.0, alcohol_kg / mass_kg)  # a rounding above 1 is not a mixture
    bulk_litres = 1000.0 * mass_kg / density_kg_m3(mass_fraction)
    sum_of_parts = sum(part.litres for part in parts)
    return Vatting(
        parts=tuple(parts),
        bulk_litres=bulk_litres,
        abv_percent=abv_from_mass_fraction(mass_fraction),
        lpa=sum(part.litres * part.abv_percent for part in parts) / 100.0,
        mass_kg=mass_kg,
        sum_of_parts_litres=sum_of_parts,
        contraction_litres=sum_of_parts - bulk_litres,
    )


def bottles_from(
    bulk_litres: float, bottle_ml: float = 700.0, loss_fraction: float = 0.015
) -> Bottling:
    """Whole bottles from a volume, after filtering and filling losses.

    Parameters
    ----------
    bulk_litres : float
        Volume at bottling strength, litres at 20 °C.
    bottle_ml : float
        Nominal content, mL.
    loss_fraction : float
        Share lost on the way, 0 to below 1; 1.5 % is a house default.

    Returns
    -------
    Bottling
        bottles = floor(V (1 - loss) 1000 / bottle), and where the rest went.

    Raises
    ------
    InputError
        If a volume is not above zero or the loss is not a share.

    Notes
    -----
    Nominal content and tolerances follow local law.

    Examples
    --------
    >>> bottles_from(1312.88).bottles
    1847
    """
    require_positive("Volume", bulk_litres, "L")
    require_positive("Bottle", bottle_ml, "mL")
    if not 0.0 <= loss_fraction < 1.0:
        raise InputError(
            f"Loss is {in_digits(loss_fraction, 'g')}, but it is a share from 0 to below 1 "
            "(0.015 for 1.5 %)."
        )
    lost_litres = bulk_litres * loss_fraction
    # A volume meant to fill n bottles exactly must not lose one to the last binary digit.
    bottles = math.floor((bulk_litres - lost_litres) * 1000.0 / bottle_ml + 1e-9)
    bottled_litres = bottles * bottle_ml / 1000.0
    return Bottling(
        bulk_litres=bulk_litres,
        loss_fraction=loss_fraction,
        bottle_ml=bottle_ml,
        bottles=bottles,
        bottled_litres=bottled_litres,
        lost_litres=lost_litres,
        left_over_litres=bulk_litres - lost_litres - bottled_litres,
    )
