"""Thirty blind evenings over six years, and the one that the demo holds.

Every evening: six test glasses (one of them usually a retained sample from an earlier evening, so
that evenings are linked), the hidden reference, and one test glass poured twice under two codes.
The planted casks come on the evenings in `GUESTS`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import Enum
from math import exp

from numpy.random import RandomState

from demo_panel.noses import NOSES, Nose
from demo_panel.spirit import BARREL, HOGSHEAD, Character, Stay, true_profile
from demo_panel.stock import PLANTED, Filling
from demo_panel.words import CORE, TURNS

AIMS = {
    "hearth smoke": (24, 9),
    "custard skin": (31, 9),
    "plum stone": (9, 8),
    "orchard skin": (35, 9),
    "warm flour": (19, 8),
    "pressed violets": (16, 8),
    "burnt sugar edge": (16, 8),
}
"""The release target "Lantern": aim and tolerance on each line."""
HELD_ON = tuple(
    day
    for year in range(2021, 2027)
    for day in (
        date(year, 2, 17),
        date(year, 4, 21),
        date(year, 6, 16),
        date(year, 9, 15),
        date(year, 10, 20),
    )
)
NEXT = len(HELD_ON) + 1
REFERENCES = {"REF-1": (date(2020, 12, 7), 1, 17), "REF-2": (date(2023, 10, 6), 15, NEXT)}
"""Each vatted batch: when it was drawn, the first and the last evening it is poured."""
GUESTS = {
    18: "musty",
    20: "leaking",
    22: "on hold",
    24: "musty",
    25: "close to 40 %",
    26: "re-racked",
    27: "other owner",
    28: "reserved",
    29: "re-racked",
}


@dataclass(frozen=True, eq=False)
class Sample:
    """A draw: its label, where it came from, and what is truly in it."""

    label: str
    filling: Filling | None
    drawn_on: date
    ppm: float
    truth: dict[str, float]


@dataclass(frozen=True, eq=False)
class Glass:
    """A sample under one code of an evening."""

    sample: Sample
    replicate: int = 1
    kind: str = "test"


@dataclass(frozen=True)
class Evening:
    """One session: its glasses, its score sheet, and who came."""

    number: int
    held_on: date
    glasses: tuple[Glass, ...]
    notes: tuple[str, ...]
    present: tuple[Nose, ...]

    @property
    def name(self) -> str:
        """Return the session's name in the files."""
        return f"night-{self.number:02d}"


def reference(label: str) -> Sample:
    """Return a vatted reference batch; the second is a little sweeter and less smoky."""
    ppm = {"REF-1": 8.0, "REF-2": 6.5}[label]
    stays = (Stay(BARREL if label == "REF-2" else HOGSHEAD, 2, 11.0),)
    truth = true_profile(ppm, stays, Character(1.0, dict.fromkeys((*CORE, *TURNS), 0.0)))
    return Sample(label, None, REFERENCES[label][0], ppm, truth)


def miss(truth: dict[str, float]) -> float:
    """Return how far a profile is from the target, in tolerances, on its worst line."""
    return max(abs(truth[note] - aim) / tolerance for note, (aim, tolerance) in AIMS.items())


class Look(Enum):
    """Where the blender looks for the next draw."""

    ANYWHERE = "all over, near the target more often"
    NEAR = "near the target"
    FAR = "for contrast"

    def weight(self, far: float) -> float:
        """Return how likely a filling so far from the target is chosen."""
        near = exp(-((far / 1.2) ** 2))
        if self is Look.NEAR:
            return 0.0001 + near**4
        if self is Look.FAR:
            return 1.0 if far > 3 else 0.001
        return 1.0 + 3.0 * near


class Cellar:
    """Keeps which casks were drawn, so that draws are numbered and come back."""

    def __init__(self, stock: list[Filling], rng: RandomState) -> None:
        self.stock = stock
        self.by_cask = {one.cask: one for one in stock if one.emptied_on is None}
        self.rng = rng
        self.samples: list[Sample] = []

    def draw(self, one: Filling, on: date) -> Sample:
        """Draw a new sample from a filling."""
        before = [old for old in self.samples if old.filling and old.filling.cask == one.cask]
        label = f"{one.cask}-{len(before) + 1}"
        sample = Sample(label, one, on, one.ppm, one.profile(on))
        self.samples.append(sample)
        return sample

    def last_drawn(self, one: Filling) -> date | None:
        """Return when a filling was last drawn from."""
        days = [sample.drawn_on for sample in self.samples if sample.filling is one]
        return max(days, default=None)

    def choose(self, on: date, taken: list[Filling], *, again: bool, look: Look) -> Filling | None:
        """Choose a filling: a new one, or (*again*) one not drawn from for three years."""
        open_to = [one for one in self.stock if self._fits(one, on, taken, again)]
        if not open_to:
            return None
        weights = [look.weight(miss(one.profile(on))) for one in open_to]
        total = sum(weights)
        return open_to[int(self.rng.choice(len(open_to), p=[w / total for w in weights]))]

    def _fits(self, one: Filling, on: date, taken: list[Filling], again: bool) -> bool:
        if one in taken or not one.is_full(on) or one.age_years(on) < 3:
            return False
        if one.cask in PLANTED.values():
            return False
        heavy = sum(other.ppm > 30 for other in taken)
        if one.ppm > 30 and heavy >= 2:
            return False
        last = self.last_drawn(one)
        return (last is not None and (on - last).days > 1000) if again else last is None


def six_samples(cellar: Cellar, number: int, held_on: date, earlier: list[Evening]) -> list[Sample]:
    """Return the test samples of an evening: a returning one, a guest, a redraw, new ones."""
    on = held_on - timedelta(8)
    samples = [came_back(cellar.rng, earlier)] if earlier else []
    taken = [sample.filling for sample in samples if sample.filling is not None]
    if number in GUESTS:
        guest = cellar.by_cask[PLANTED[GUESTS[number]]]
        samples.append(cellar.draw(guest, on))
        taken.append(guest)
    while len(samples) < 6:
        again = number > 12 and len(samples) in (1, 2)
        look = Look.ANYWHERE
        if number == NEXT:
            look = Look.NEAR if again else Look.FAR
        one = cellar.choose(on, taken, again=again, look=look)
        one = one or cellar.choose(on, taken, again=False, look=look)
        if one is None:
            raise ValueError(f"no cask is left for evening {number}")
        samples.append(cellar.draw(one, on))
        taken.append(one)
    return samples


def came_back(rng: RandomState, earlier: list[Evening]) -> Sample:
    """Return a retained sample of one of the last three evenings that did not come back yet."""
    nosed = [
        glass.sample
        for evening in earlier
        for glass in evening.glasses
        if glass.kind == "test" and glass.replicate == 1
    ]
    once = [sample for sample in nosed[-18:] if nosed.count(sample) == 1]
    return once[int(rng.randint(len(once)))]


def sheet(number: int) -> tuple[str, ...]:
    """Return an evening's ten lines: the target's seven and three of the others in turns."""
    step = (0, 2, 5)[(number // 9) % 3] + 1
    turns = [TURNS[(number * 3 + k * step) % len(TURNS)] for k in range(3)]
    if number in GUESTS and GUESTS[number] == "musty" and "damp cellar" not in turns:
        turns[2] = "damp cellar"
    return (*CORE, *dict.fromkeys(turns))


def hold_evening(cellar: Cellar, number: int, held_on: date, earlier: list[Evening]) -> Evening:
    """Choose samples, glasses and people of one evening."""
    samples = six_samples(cellar, number, held_on, earlier)
    twice = samples[int(cellar.rng.randint(6))]
    glasses = [*(Glass(sample) for sample in samples), Glass(twice, replicate=2)]
    for label, (_, first, last) in REFERENCES.items():
        if first <= number <= last:
            glasses.append(Glass(reference(label), kind="reference"))
    here = [
        nose
        for nose in NOSES
        if nose.joined_on <= held_on and (cellar.rng.rand() < nose.comes or number == NEXT)
    ]
    return Evening(number, held_on, tuple(glasses), sheet(number), tuple(here))


def hold_all(stock: list[Filling], rng: RandomState, next_on: date) -> tuple[Cellar, list[Evening]]:
    """Return all evenings, the demo's own last."""
    cellar = Cellar(stock, rng)
    evenings: list[Evening] = []
    for number, held_on in enumerate((*HELD_ON, next_on), start=1):
        evenings.append(hold_evening(cellar, number, held_on, evenings))
    return cellar, evenings
