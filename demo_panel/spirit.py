"""What truly is in a cask: the profile as the whole panel would read it with endless glasses.

The tool never sees this. It is written so that later work has something true to find: notes grow
or fade with age, with the wood and how often it was filled, with smoke, and every cask has a
character of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, pow

from numpy.random import RandomState

from demo_panel.words import NAMES


@dataclass(frozen=True)
class Wood:
    """A kind of cask: its trade words, size, and how much of what it gives."""

    name: str
    previous: str
    size_l: float
    custard: float
    sugar: float
    fruit: float
    nut: float
    cedar: float
    spice: float
    citrus: float


BARREL = Wood("American oak barrel", "bourbon", 200, 1.0, 0.6, 0.06, 0.15, 0.6, 0.5, 0.3)
HOGSHEAD = Wood("American oak hogshead", "bourbon", 250, 1.0, 0.6, 0.06, 0.15, 0.6, 0.5, 0.3)
BUTT = Wood("European oak butt", "sherry", 500, 0.35, 0.9, 1.25, 1.1, 0.7, 0.9, 0.6)
SHERRY_HOGSHEAD = Wood("European oak hogshead", "sherry", 250, 0.35, 0.9, 1.15, 1.0, 0.7, 0.9, 0.6)
NEW_OAK = Wood("new toasted oak barrel", "", 200, 1.1, 1.5, 0.1, 0.3, 1.6, 1.6, 0.2)
BARRIQUE = Wood("French oak barrique", "red wine", 225, 0.4, 0.7, 0.8, 0.45, 0.8, 1.0, 1.1)

FADE_BY_FILL = (1.0, 0.62, 0.40, 0.27)
"""What is left of the wood's own notes at first, second, third and fourth filling."""
MUST_POINTS = 55.0


@dataclass(frozen=True)
class Stay:
    """Years in one wood."""

    wood: Wood
    fill_number: int
    years: float

    def given(self, time_constant_years: float) -> float:
        """Return the share of its own notes that this wood has handed over (1: a first barrel)."""
        activity = FADE_BY_FILL[self.fill_number - 1] * pow(200.0 / self.wood.size_l, 0.25)
        return activity * (1.0 - exp(-self.years / time_constant_years))


@dataclass(frozen=True)
class Character:
    """What is particular to one cask: how lively its wood is, points on each note, sulphur."""

    liveliness: float
    points: dict[str, float]
    sulphur: float = 0.0


def draw_character(rng: RandomState) -> Character:
    """Draw a cask's own character; fresh and dark notes each move together."""
    fresh, dark = rng.normal(0.0, 3.0, 2).tolist()
    own = rng.normal(0.0, 2.5, len(NAMES))
    points = dict(zip(NAMES, own.tolist(), strict=True))
    for note in ("orchard skin", "pressed violets", "orange pith"):
        points[note] += fresh
    for note in ("plum stone", "walnut skin", "burnt sugar edge"):
        points[note] += dark
    sulphur = max(0.0, float(rng.normal(-2.0, 8.0)))
    return Character(exp(float(rng.normal(0.0, 0.16))), points, sulphur)


def hump(age_years: float, top_years: float) -> float:
    """Return a curve that rises to 1 at *top_years* and falls slowly after."""
    share = age_years / top_years
    return share * exp(1.0 - share)


def wood_notes(stays: tuple[Stay, ...]) -> dict[str, float]:
    """Return what the woods gave, in points."""
    early = [(stay.wood, stay.given(8.0)) for stay in stays]
    late = [(stay.wood, stay.given(16.0)) for stay in stays]
    return {
        "custard skin": sum(46 * wood.custard * part for wood, part in early),
        "burnt sugar edge": sum(32 * wood.sugar * part for wood, part in early),
        "plum stone": sum(58 * wood.fruit * part for wood, part in early),
        "walnut skin": sum(42 * wood.nut * part for wood, part in early),
        "pencil box": sum(44 * wood.cedar * part for wood, part in late),
        "pepper husk": sum(34 * wood.spice * part for wood, part in early),
        "orange pith": sum(22 * wood.citrus * part for wood, part in early),
    }


def spirit_notes(phenol_ppm: float, age_years: float, cover: float) -> dict[str, float]:
    """Return what comes with the spirit and how age and wood (*cover*, 0 to 1) change it."""
    smoke = (phenol_ppm / 40.0) ** 0.5
    heavy = max(phenol_ppm - 6.0, 0.0) / 34.0
    return {
        "hearth smoke": 72 * smoke * exp(-0.020 * age_years) - 6,
        "boat shed": 55 * heavy * exp(-0.045 * age_years),
        "warm flour": 8 + 38 * exp(-age_years / 8.0) * (1 - 0.3 * cover),
        "orchard skin": 12 + 32 * hump(age_years, 10.0) * (1 - 0.45 * cover),
        "pressed violets": 3 + 24 * hump(age_years, 17.0) * (1 - 0.5 * cover) * (1 - 0.4 * smoke),
        "wet slate": 9 + 20 * (1 - cover) + 5 * smoke,
        "lamp wick": 8 + 20 * hump(age_years, 20.0),
        "struck match": 12 * exp(-age_years / 4.0) - 3,
        "orange pith": 10 + 8 * hump(age_years, 8.0),
    }


def true_profile(
    phenol_ppm: float, stays: tuple[Stay, ...], character: Character, *, musty: bool = False
) -> dict[str, float]:
    """Return every note of a filling in points of the panel's line (below 0: not there)."""
    age_years = sum(stay.years for stay in stays)
    cover = min(1.0, sum(stay.given(8.0) for stay in stays))
    woods = wood_notes(stays)
    spirit = spirit_notes(phenol_ppm, age_years, cover)
    profile = {}
    for note in NAMES:
        base = 4.0 if note in woods and note not in spirit else 0.0
        given = base + character.liveliness * woods.get(note, 0.0) + spirit.get(note, 0.0)
        profile[note] = given + character.points[note] * min(1.0, max(given, 0.0) / 8.0)
    profile["struck match"] += character.sulphur * exp(-age_years / 12.0)
    profile["damp cellar"] = MUST_POINTS if musty else -8.0
    return profile
