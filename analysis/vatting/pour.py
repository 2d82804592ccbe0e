"""What chosen litres come to: strength, water, bottles and age."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ..array_types import Floats, Ints
from ..digits import in_digits
from ..strength import (
    abv_from_mass_fraction,
    bottles_from,
    density_from_abv,
    density_kg_m3,
    mass_fraction_from_abv,
    reduce_strength,
)
from .eligible import ages_at_bottling, share_members, whole_years
from .limits import Basis, Limits, Share
from .safe import sure_of
from .stock import Stock

_STRENGTH_HAIR = 1e-3
"""A vat this little below the bottling strength counts as being at it, % vol."""


@dataclass(frozen=True)
class Poured:
    """Litres and strengths of a vatting; all litres at 20 °C.

    Attributes
    ----------
    bulk_litres, abv_percent, lpa
        The vat before water, mixed by mass.
    contraction_litres
        What the parts lose in volume by mixing.
    bottling_abv_percent
        Strength after water; that of the vat when it is bottled as it comes.
    water_litres
        Water to add; None with `water_reason` when the vat is too weak.
    final_litres
        Litres at bottling strength, before filling losses.
    bottles
        Whole bottles after losses, the number that is safe to print: the low end.
    bottles_low, bottles_high
        Ends that hold the whole bottles 90 times in 100, by kind and age of the gauges.
    sure_litres
        Litres at bottling strength that are surely there, before filling losses.
    age_statement_years
        Whole years of the youngest part on the day of bottling; None with `age_reason`.
    """

    bulk_litres: float
    abv_percent: float
    lpa: float
    contraction_litres: float
    bottling_abv_percent: float
    water_litres: float | None
    water_reason: str | None
    final_litres: float
    bottles: int
    age_statement_years: int | None
    age_reason: str | None
    bottles_low: int
    bottles_high: int
    sure_litres: float


@dataclass(frozen=True)
class ShareReached:
    """A share that was asked for, and what it came to, as fractions."""

    share: str
    low: float
    high: float
    reached: float

    json_also = ("held",)

    @property
    def held(self) -> bool:
        """Whether it lies within what was asked."""
        return self.low - 1e-6 <= self.reached <= self.high + 1e-6


@lru_cache(maxsize=65536)
def _density_and_mass_fraction(abv_percent: float) -> tuple[float, float]:
    return density_from_abv(abv_percent), mass_fraction_from_abv(abv_percent)


def pour(stock: Stock, limits: Limits, rows: Ints, litres: Floats) -> Poured:
    """Mix litres of some casks by mass, reduce them, and count bottles.

    Parameters
    ----------
    stock, limits
        Strengths and ages; bottling strength, bottle and losses.
    rows, litres
        Rows of the stock and litres taken of each.

    Returns
    -------
    Poured

    Notes
    -----
    Densities by OIML R 22 (1975). The same mixing as :func:`analysis.strength.vat`, with the
    density of each cask kept from call to call, because a screen asks at every keystroke.
    """
    abv = stock.abv_percent[rows]
    figures = np.array([_density_and_mass_fraction(float(value)) for value in abv])
    mass_kg = litres * figures[:, 0] / 1000.0
    mass_fraction = float(mass_kg @ figures[:, 1] / mass_kg.sum())
    bulk_litres = float(1000.0 * mass_kg.sum() / density_kg_m3(mass_fraction))
    vat_abv = abv_from_mass_fraction(mass_fraction)
    lpa = float(litres @ abv / 100.0)
    water, reason, bottling_abv, final_litres = _reduced(limits, bulk_litres, vat_abv, lpa)
    sure = sure_of(stock, limits, rows, litres)
    low, high = (
        bottles_from(final_litres * share, limits.bottle_ml, limits.loss_fraction).bottles
        for share in (sure.low, sure.high)
    )
    age, age_reason = _age(stock, limits, rows)
    return Poured(
        bulk_litres=bulk_litres,
        abv_percent=vat_abv,
        lpa=lpa,
        contraction_litres=float(litres.sum() - bulk_litres),
        bottling_abv_percent=bottling_abv,
        water_litres=water,
        water_reason=reason,
        final_litres=final_litres,
        bottles=low,
        age_statement_years=age,
        age_reason=age_reason,
        bottles_low=low,
        bottles_high=high,
        sure_litres=final_litres * sure.low,
    )


def _reduced(
    limits: Limits, bulk_litres: float, vat_abv: float, lpa: float
) -> tuple[float | None, str | None, float, float]:
    """Water, why there is none, strength and litres after it."""
    wanted = limits.abv_percent
    if wanted is None:
        return 0.0, None, vat_abv, bulk_litres
    if vat_abv >= wanted:
        reduction = reduce_strength(bulk_litres, vat_abv, wanted)
        return reduction.water_litres, None, wanted, reduction.final_litres
    if vat_abv > wanted - _STRENGTH_HAIR:
        return 0.0, None, wanted, 100.0 * lpa / wanted
    reason = (
        f"the vat has {in_digits(vat_abv, '.2f')} % vol, below the bottling strength of "
        f"{in_digits(wanted, 'g')}: take a "
        "stronger cask in, or bottle it as it comes"
    )
    return None, reason, vat_abv, bulk_litres


def _age(stock: Stock, limits: Limits, rows: Ints) -> tuple[int | None, str | None]:
    ages = ages_at_bottling(stock, limits)[rows]
    if np.isnan(ages).any():
        unknown = stock.names[rows[np.isnan(ages)]][0]
        return None, f"cask {unknown} has no recorded age"
    return int(whole_years(ages).min()), None


def shares_reached(
    stock: Stock, limits: Limits, rows: Ints, litres: Floats
) -> tuple[ShareReached, ...]:
    """What every share that was asked for came to."""
    return tuple(
        ShareReached(share.words, share.low, share.high, _reached(stock, share, rows, litres))
        for share in limits.shares
    )


def _reached(stock: Stock, share: Share, rows: Ints, litres: Floats) -> float:
    weight = {
        Basis.BULK: litres,
        Basis.LPA: litres * stock.abv_percent[rows],
        Basis.CASKS: np.ones(len(rows)),
    }[share.basis]
    member = share_members(stock, share.column, share.values)[rows]
    return float(weight[member].sum() / weight.sum())
