"""What every assessor says of every glass.

Planted: two glasses swapped on one tray, and one void glass.
"""

from __future__ import annotations

from dataclasses import dataclass

from numpy.random import RandomState

from demo_panel.evenings import NEXT, Evening, Glass, Sample
from demo_panel.noses import DISAGREEMENT, EVENING, Habits, Nose, draw_habits, drift, score

SWAPPED = (23, "Aspen")
VOID = (12, "Aspen", 4)
PEAT_STARTS_PPM = (3.0, 15.0, 30.0)


@dataclass(frozen=True)
class Scored:
    """What one assessor said of one glass."""

    evening: Evening
    nose: Nose
    glass: Glass
    position: int
    status: str
    scores: dict[str, int | None]


def order(rng: RandomState, glasses: tuple[Glass, ...]) -> list[Glass]:
    """Return one tray's order: smoke rises class by class, by chance within a class."""
    ranked = [
        (sum(glass.sample.ppm > start for start in PEAT_STARTS_PPM), rng.rand(), i)
        for i, glass in enumerate(glasses)
    ]
    return [glasses[i] for _, _, i in sorted(ranked)]


class Scorer:
    """Turns glasses into scores; what an assessor makes of a sample stays the same each time."""

    def __init__(self, rng: RandomState) -> None:
        self.rng = rng
        self.habits: Habits = draw_habits(rng)
        self.takes: dict[tuple[str, str, str], float] = {}

    def tray(self, evening: Evening, nose: Nose, evening_shift: float) -> list[Scored]:
        """Return one assessor's evening."""
        rng = self.rng
        shift = evening_shift + drift(nose, evening.held_on) + rng.normal(0.0, 1.5)
        glasses = order(rng, evening.glasses)
        poured = dict(zip(glasses, glasses, strict=True))
        if (evening.number, nose.code) == SWAPPED:
            poured.update(swap_two(glasses))
        scored = []
        for position, glass in enumerate(glasses, start=1):
            said = self._glass(evening, nose, poured[glass].sample, shift)
            void = (evening.number, nose.code, position) == VOID
            status = "void" if void else "kept"
            scored.append(Scored(evening, nose, glass, position, status, said))
        return scored

    def _glass(
        self, evening: Evening, nose: Nose, sample: Sample, shift: float
    ) -> dict[str, int | None]:
        said: dict[str, int | None] = {}
        for note in evening.notes:
            key = (nose.code, sample.label, note)
            if key not in self.takes:
                self.takes[key] = float(self.rng.normal(0.0, DISAGREEMENT))
            total = shift + self.takes[key]
            number = score(
                nose, note, sample.truth[note], shift=total, habits=self.habits, rng=self.rng
            )
            blank = self.rng.rand() < 0.004 and evening.number != NEXT
            said[note] = None if blank else number
        return said


def swap_two(glasses: list[Glass]) -> dict[Glass, Glass]:
    """Return the two glasses that differ most in smoke, each standing for the other."""
    tests = [glass for glass in glasses if glass.kind == "test" and glass.replicate == 1]
    tests.sort(key=lambda glass: glass.sample.truth["hearth smoke"])
    return {tests[0]: tests[-1], tests[-1]: tests[0]}


def score_all(evenings: list[Evening], rng: RandomState) -> list[Scored]:
    """Return every glass of every evening; about one in a hundred was never nosed."""
    scorer = Scorer(rng)
    scored = []
    for evening in evenings:
        evening_shift = float(rng.normal(0.0, EVENING))
        for nose in evening.present:
            tray = scorer.tray(evening, nose, evening_shift)
            scored += [one for one in tray if evening.number == NEXT or rng.rand() >= 0.01]
    return scored
