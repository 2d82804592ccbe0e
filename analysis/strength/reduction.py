"""Reducing spirit with water: how much to add, and what it shrinks by."""

from __future__ import annotations

from dataclasses import dataclass

from ..as_json import AsJson
from ..digits import in_digits
from ..errors import InputError
from ..readable import Readable
from .convert import density_from_abv, mass_fraction_from_abv, require_abv
from .density import WATER_DENSITY_20_KG_M3, require_positive


@dataclass(frozen=True, repr=False)
class Reduction(AsJson, Readable):
    """Spirit brought down to a strength; all litres at 20 °C."""

    litres: float
    from_abv_percent: float
    to_abv_percent: float
    water_litres: float
    water_kg: float
    final_litres: float
    contraction_litres: float
    lpa: float


def require_downward(from_abv_percent: float, to_abv_percent: float) -> None:
    """Refuse strengths out of range, a target of zero, and a target above the start.

    Raises
    ------
    InputError
        In any of these cases.
    """
    require_abv(from_abv_percent, "Starting strength")
    require_abv(to_abv_percent, "Target strength")
    if to_abv_percent <= 0.0:
        raise InputError("Target strength is 0 % vol: no amount of water reaches it.")
    if to_abv_percent > from_abv_percent:
        raise InputError(
            f"Target strength {in_digits(to_abv_percent, 'g')} % vol is above the starting "
            "strength "
            f"{in_digits(from_abv_percent, 'g')} % vol: water cannot raise it; leave the "
            "spirit as it is or "
            "vat it with a stronger one."
        )


def reduce_strength(litres: float, from_abv_percent: float, to_abv_percent: float) -> Reduction:
    """Water that brings spirit down to a strength, by volume and by weight.

    Choose it for casks, vats and single glasses alike. The volume after mixing follows
    exactly from the strengths; only the *water* is more than the difference, because
    ethanol and water shrink on mixing.

    Parameters
    ----------
    litres : float
        Spirit at 20 °C.
    from_abv_percent, to_abv_percent : float
        Strength before and after, % vol at 20 °C.

    Returns
    -------
    Reduction
        m2 = m1 p1/p2; water = m2 - m1 (kg); V2 = V1 q1/q2; contraction = V1 + water - V2.

    Raises
    ------
    InputError
        If the volume is not above zero, a strength is out of range, or the target is
        above the start.

    Notes
    -----
    Source: OIML R 22 (1975).

    Examples
    --------
    >>> reduction = reduce_strength(100, 63.5, 46)
    >>> round(reduction.water_litres, 2), round(reduction.final_litres, 2)
    (39.4, 138.04)
    """
    require_positive("Volume", litres, "L")
    require_downward(from_abv_percent, to_abv_percent)
    mass_kg = litres * density_from_abv(from_abv_percent) / 1000.0
    ratio = mass_fraction_from_abv(from_abv_percent) / mass_fraction_from_abv(to_abv_percent)
    water_kg = mass_kg * (ratio - 1.0)
    water_litres = 1000.0 * water_kg / WATER_DENSITY_20_KG_M3
    final_litres = litres * from_abv_percent / to_abv_percent
    return Reduction(
        litres=litres,
        from_abv_percent=from_abv_percent,
        to_abv_percent=to_abv_percent,
        water_litres=water_litres,
        water_kg=water_kg,
        final_litres=final_litres,
        contraction_litres=litres + water_litres - final_litres,
        lpa=litres * from_abv_percent / 100.0,
    )
