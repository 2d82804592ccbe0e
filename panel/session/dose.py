"""Care for the people at the glass: ethanol, caps, minutes, cautions.

Grams are of pure ethanol. There is no estimate of blood alcohol here on purpose: it would
be wrong for most people and would invite someone to drive on it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

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
    """A figure that cannot be a volume, a strength or a time; the message says which."""


class Intake(Enum):
    """What is done with a glass."""

    NOSED = "nosed only"
    SPAT = "tasted and spat"
    SWALLOWED = "swallowed"


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
    """Ethanol of a set of glasses in the three cases, grams."""

    swallowed_grams: float
    spat_grams: float
    nosed_grams: float = 0.0

    def to_dict(self) -> dict[str, float]:
        """Return the fields by name, ready for JSON."""
        return {
            "swallowed_grams": self.swallowed_grams,
            "spat_grams": self.spat_grams,
            "nosed_grams": self.nosed_grams,
        }

    def plus(self, other: SessionDose) -> SessionDose:
        """Add what another set of glasses holds."""
        return SessionDose(
            self.swallowed_grams + other.swallowed_grams,
            self.spat_grams + other.spat_grams,
            self.nosed_grams + other.nosed_grams,
        )

    def sentence(self) -> str:
        """Say the dose in words."""
        return (
            f"{self.swallowed_grams:.1f} g of ethanol if all were swallowed, "
            f"{self.spat_grams:.1f} g counted if tasted and spat, none if only nosed."
        )


@dataclass(frozen=True)
class DoseVerdict:
    """Whether a glass may be served, and why not."""

    allowed: bool
    reason: str = ""


@dataclass(frozen=True)
class FlightTime:
    """What makes a flight's pause and length; settings.

    60 s lets the nose come back from ordinary spirit, 180 s from smoke (house defaults;
    smoke counts from 15 ppm of phenols in the malt). A line takes about 8 s to set.
    """

    seconds_a_descriptor: float = 8.0
    pause_seconds: float = 60.0
    smoky_pause_seconds: float = 180.0
    smoky_from_ppm: float = 15.0


def _require(name: str, value: float, high: float = math.inf) -> float:
    if not (math.isfinite(value) and 0.0 <= value <= high):
        limit = f" or above {high:g}" if math.isfinite(high) else ""
        raise DoseError(f"{name} is {value:g}, but it cannot be below 0{limit}: check the figure.")
    return value


def ethanol_grams(volume_ml: float, abv_percent: float) -> float:
    """Grams of ethanol in a volume: mL x ABV/100 x 0.78924."""
    _require("Volume in mL", volume_ml)
    _require("Strength in % vol", abv_percent, 100.0)
    return volume_ml * abv_percent / 100.0 * ETHANOL_GRAMS_A_ML


def counted_grams(pour: Pour, intake: Intake, limits: DoseLimits | None = None) -> float:
    """Grams counted for a glass: all when swallowed, a share when spat, none when nosed."""
    share = {
        Intake.NOSED: 0.0,
        Intake.SPAT: (limits or DoseLimits()).spat_share,
        Intake.SWALLOWED: 1.0,
    }
    return ethanol_grams(pour.volume_ml, pour.abv_percent) * share[intake]


def session_dose(pours: Iterable[Pour], limits: DoseLimits | None = None) -> SessionDose:
    """Ethanol of all glasses of one assessor, the warm-up glass among them."""
    spat_share = (limits or DoseLimits()).spat_share
    swallowed = sum(ethanol_grams(pour.volume_ml, pour.abv_percent) for pour in pours)
    return SessionDose(swallowed, swallowed * spat_share)


def may_serve(
    next_grams: float,
    session_grams_so_far: float,
    day_grams_so_far: float,
    limits: DoseLimits | None = None,
) -> DoseVerdict:
    """Whether one more glass stays within the caps; a glass that does not is not served.

    All grams are counted ones (`counted_grams`); those of the day include the session.
    """
    limits = limits or DoseLimits()
    _require("Ethanol of the next glass in g", next_grams)
    _require("Ethanol of the session in g", session_grams_so_far)
    _require("Ethanol of the day in g", day_grams_so_far)
    if next_grams == 0.0:  # nosing is always open
        return DoseVerdict(True)
    for span, so_far, cap in (
        ("session", session_grams_so_far, limits.session_grams),
        ("day", day_grams_so_far, limits.day_grams),
    ):
        if so_far + next_grams > cap + 1e-9:
            return DoseVerdict(
                False,
                f"This glass would bring the {span} to {so_far + next_grams:.1f} g of ethanol, "
                f"above the limit of {cap:g} g: nose it without tasting, or stop here.",
            )
    return DoseVerdict(True)


def flight_pause_seconds(
    malt_phenols_ppm: Iterable[float], time: FlightTime | None = None
) -> float:
    """One pause for the whole flight, set by its smokiest glass.

    A pause that followed each glass would tell what it was.
    """
    time = time or FlightTime()
    smokiest = max((_require("Malt phenols in ppm", ppm) for ppm in malt_phenols_ppm), default=0.0)
    return time.smoky_pause_seconds if smokiest >= time.smoky_from_ppm else time.pause_seconds


def flight_minutes(
    malt_phenols_ppm: Sequence[float], descriptors: int, time: FlightTime | None = None
) -> float:
    """Minutes of one flight: each glass its descriptors, and a pause between glasses.

    One figure of `malt_phenols_ppm` a glass, the warm-up glass among them.
    """
    time = time or FlightTime()
    _require("Number of descriptors", descriptors)
    glasses = len(malt_phenols_ppm)
    pauses = max(0, glasses - 1) * flight_pause_seconds(malt_phenols_ppm, time)
    return (glasses * descriptors * time.seconds_a_descriptor + pauses) / 60.0
