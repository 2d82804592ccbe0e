"""From cask to glass: water to nosing strength."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ..as_json import AsJson
from ..readable import Readable
from .density import require_positive
from .reduction import reduce_strength

# House defaults. 20 % vol is common practice for assessing spirit by nose; the loss covers
# pipette, funnel and bottle walls; the retained sample allows one second look.
NOSING_ABV_PERCENT: Final = 20.0


@dataclass(frozen=True, repr=False)
class NosingWater(AsJson, Readable):
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
