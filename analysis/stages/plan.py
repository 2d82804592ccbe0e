"""What so many people can tell of the course of a note by stages, before a glass is poured."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ..as_json import AsJson
from ..chance_words import in_100
from ..counted import count
from ..errors import InputError
from ..readable import Readable
from ..traces.plan import CourseFar, glasses_needed, paired_power, people_needed

ERROR = 0.05
STAGE_ERROR = 0.025
"""What a difference in course is tested at, so that it is said falsely in at most .05 where one
sample only has twice as much of the note, up to 16 people: what is added before the ratio is taken
moves it a little then (`bench_words stages-apart-twice`)."""
BOTH_STAGED = {CourseFar.MILD: 0.58, CourseFar.STRONG: 1.39}
"""Mean over sd of one person's difference in log ratio, who scores both samples once."""
ONE_STAGED = {CourseFar.MILD: 0.74, CourseFar.STRONG: 1.84}
"""Distance in sd of a glass where nobody scores both. Both are measured on made-up scores by
`python -m tests.bench.bench_traces`, in which the courses of people wobble by .3."""


@dataclass(frozen=True)
class StagePower:
    """Chance that a difference is found: by these people, each of whom scores both samples."""

    apart: CourseFar
    power: float


@dataclass(frozen=True, repr=False)
class StagePlan(AsJson, Readable):
    """What a number of people can tell of two samples of a session with stages.

    Attributes
    ----------
    people_needed
        Of a mild difference, 8 times in 10, where everybody scores both samples.
    glasses_needed
        The same, glasses of each of two samples, where nobody scores both.
    """

    people: int
    samples: int
    notes: int
    error: float
    power: tuple[StagePower, ...]
    people_needed: int
    glasses_needed: int

    def said(self) -> Iterator[str]:
        """Give what they can tell, and how many would do."""
        if self.samples > 1:
            mild, strong = (in_100(one.power) for one in self.power)
            any_two = "" if self.samples == 2 else " (of any two of the samples)"
            yield (
                f"Whether a note by stages takes another course in one of two samples{any_two} is "
                f"found by {count(self.people, 'person', 'people')}, who score both once: a mild "
                f"difference in {mild}, a strong one in {strong}; by chance in at most "
                f"{in_100(self.error)}."
            )
        yield (
            f"For 80 in 100 at a mild difference: {self.people_needed} people who score both "
            f"samples, or {self.glasses_needed} glasses of each where nobody scores both."
        )

    def rows(self) -> Iterable[object]:
        """Give the power by distance."""
        return self.power


def pairs_of(samples: int, notes: int = 1) -> int:
    """Return how many pairs are tested in a session, all notes by stages counted."""
    return max(1, notes * (samples * (samples - 1) // 2))


def stage_people_needed(pairs: int = 1) -> int:
    """How many people, who score both, find a mild difference 8 times in 10."""
    return people_needed(pairs, BOTH_STAGED[CourseFar.MILD], STAGE_ERROR)


def plan_stages(people: int, samples: int = 2, notes: int = 1) -> StagePlan:
    """Reckon what people can tell of the courses of notes in samples that all of them score.

    Raises
    ------
    InputError
        Nobody, no sample, or no note.

    Examples
    --------
    >>> found = plan_stages(8)
    >>> found.people_needed, found.glasses_needed, round(found.power[1].power, 2)
    (31, 30, 0.83)
    """
    if people < 1 or samples < 1 or notes < 1:
        raise InputError("Stages take one person, one sample and one note at least.")
    pairs = pairs_of(samples, notes)
    return StagePlan(
        people=people,
        samples=samples,
        notes=notes,
        error=ERROR,
        power=tuple(
            StagePower(apart, paired_power(people, BOTH_STAGED[apart], pairs, STAGE_ERROR))
            for apart in CourseFar
        ),
        people_needed=stage_people_needed(pairs),
        glasses_needed=glasses_needed(ONE_STAGED[CourseFar.MILD]),
    )
