"""Care for the people at the glass: ethanol, caps, cautions.

Grams are of pure ethanol. There is no estimate of blood alcohol here on purpose: it would
be wrong for most people and would invite someone to drive on it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from panel.figures import in_digits

# Density of ethanol at 20 °C (OIML R 22, 1975).
ETHANOL_GRAMS_A_ML: Final = 0.78924

CAUTIONS: Final[tuple[str, ...]] = (
    "Nose first; spit what you taste, and have water beside you.",
    "Do not drive or work at height or with machines after swallowing: this program cannot "
    "tell whether you may.",
    "Anyone may nose only, or leave, without a reason and without a note of it.",
    "Spirit burns and its vapour can catch fire at room temperature: small volumes, closed, "
    "aired, no flame, no heating.",
    "Never enter a vat, tun or closed store room on the word of this program.",
    "Local law, local codes and licensed practice decide on serving, duty and safety.",
)


class DoseError(ValueError):
    """A figure that cannot be a volume or a strength; the message says which."""


@dataclass(frozen=True)
class Pour:
    """One glass as it stands on the tray."""

    volume_ml: float
    abv_percent: float


@dataclass(frozen=True)
class DoseLimits:
    """Caps on ethanol, counted as spat and if all were swallowed; house defaults, settings.

    Session: 8 g is one UK unit, so a session costs at most that. Day: two sessions a day
    at most. Spat share: about 5 % has been reported for wine tasters (second-hand); 20 %
    is a deliberate margin for people who forget. Swallowed: three units a session and four a
    day, for the evening on which nobody spits.
    """

    session_grams: float = 8.0
    day_grams: float = 16.0
    spat_share: float = 0.20
    session_swallowed_grams: float = 24.0
    day_swallowed_grams: float = 32.0


@dataclass(frozen=True)
class SessionDose:
    """Ethanol of a set of glasses, grams: if all were swallowed, and as counted if spat."""

    swallowed_grams: float
    spat_grams: float

    def plus(self, other: SessionDose) -> SessionDose:
        """Add what another set of glasses holds."""
        return SessionDose(
            self.swallowed_grams + other.swallowed_grams, self.spat_grams + other.spat_grams
        )


def _require(name: str, value: float, high: float = math.inf) -> float:
    if not (math.isfinite(value) and 0.0 <= value <= high):
        limit = f" or above {in_digits(high, 'g')}" if math.isfinite(high) else ""
        raise DoseError(
            f"{name} is {in_digits(value, 'g')}, but it cannot be below 0{limit}: check the figure."
        )
    return value


def ethanol_grams(volume_ml: float, abv_percent: float) -> float:
    """Grams of ethanol in a volume: mL x ABV/100 x 0.78924."""
    _require("Volume in mL", volume_ml)
    _require("Strength in % vol", abv_percent, 100.0)
    return volume_ml * abv_percent / 100.0 * ETHANOL_GRAMS_A_ML


def session_dose(pours: Iterable[Pour], limits: DoseLimits | None = None) -> SessionDose:
    """Ethanol of all glasses of one assessor, the warm-up glass among them."""
    spat_share = (limits or DoseLimits()).spat_share
    swallowed = sum(ethanol_grams(pour.volume_ml, pour.abv_percent) for pour in pours)
    return SessionDose(swallowed, swallowed * spat_share)
