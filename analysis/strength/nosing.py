"""From cask to glass: water to nosing strength, and how much to draw."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from analysis.as_json import AsJson
from analysis.errors import InputError
from analysis.strength.density import require_not_negative, require_positive
from analysis.strength.reduction import reduce_strength, require_downward

# House defaults. 20 % vol is common practice for assessing spirit by nose; the loss covers
# pipette, funnel and bottle walls; the retained sample allows one second look.
NOSING_ABV_PERCENT: Final = 20.0
LOSS_FRACTION: Final = 0.10
RETAINED_ML: Final = 50.0


@dataclass(frozen=True)
class NosingWater(AsJson):
    """A draw brought to nosing strength; all volumes at 20 °C."""

    draw_ml: float
    from_abv_percent: float
    to_abv_percent: float
    water_ml: float
    water_grams: float
    final_ml: float


def nosing_water(
    volume_ml_of_draw: float, abv_percent: float, to_abv_percent: float = NOSING_ABV_PERCENT
) -> NosingWater:
    """Water for a draw that is to be nosed at a lower strength.

    Use still water without taste of its own; weigh it (grams) where it matters.

    Parameters
    ----------
    volume_ml_of_draw : float
        Draw at cask strength, mL at 20 °C.
    abv_percent : float
        Its measured strength, % vol at 20 °C.
    to_abv_percent : float
        Nosing strength, 20 % vol unless said otherwise.

    Returns
    -------
    NosingWater
        As `reduce_strength`, in millilitres and grams.

    Raises
    ------
    InputError
        If the volume is not above zero, a strength is out of range, or the draw is weaker
        than the nosing strength.

    Notes
    -----
    Source: OIML R 22 (1975).

    Examples
    --------
    >>> round(nosing_water(20, 58).water_ml, 2)
    38.26
    """
    require_positive("Draw", volume_ml_of_draw, "mL")
    reduction = reduce_strength(volume_ml_of_draw / 1000.0, abv_percent, to_abv_percent)
    return NosingWater(
        draw_ml=volume_ml_of_draw,
        from_abv_percent=abv_percent,
        to_abv_percent=to_abv_percent,
        water_ml=reduction.water_litres * 1000.0,
        water_grams=reduction.water_kg * 1000.0,
        final_ml=reduction.final_litres * 1000.0,
    )


def draw_needed(
    glasses: int,
    pour_ml: float,
    from_abv: float,
    to_abv: float = NOSING_ABV_PERCENT,
    loss_fraction: float = LOSS_FRACTION,
    retained_ml: float = RETAINED_ML,
) -> float:
    """Millilitres to draw from a cask for a session.

    Parameters
    ----------
    glasses : int
        Glasses of this draw over all assessors, the blind duplicate and re-pours counted.
    pour_ml : float
        Volume in a glass at nosing strength, mL.
    from_abv, to_abv : float
        Cask and nosing strength, % vol at 20 °C.
    loss_fraction : float
        Share of the reduced draw that is lost on the way, 0 to below 1.
    retained_ml : float
        Kept back at cask strength, mL.

    Returns
    -------
    float
        glasses x pour x to/from / (1 - loss) + retained, in mL at cask strength. Round up
        when you draw.

    Raises
    ------
    InputError
        If a figure is out of range, or the cask is weaker than the nosing strength.

    Notes
    -----
    The volume after reduction follows exactly from the strengths (OIML R 22, 1975).
    Loss and retained volume are house defaults.

    Examples
    --------
    >>> round(draw_needed(14, 20, 45, 20, loss_fraction=0, retained_ml=0))
    124
    """
    if glasses < 1:
        raise InputError(f"Glasses is {glasses}, but a draw serves at least 1.")
    require_positive("Pour", pour_ml, "mL")
    require_downward(from_abv, to_abv)
    require_not_negative("Retained sample", retained_ml, "mL")
    if not 0.0 <= loss_fraction < 1.0:
        raise InputError(
            f"Loss is {loss_fraction:g}, but it is a share from 0 to below 1 (0.1 for 10 %)."
        )
    return glasses * pour_ml * to_abv / from_abv / (1.0 - loss_fraction) + retained_ml
