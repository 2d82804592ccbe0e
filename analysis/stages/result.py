"""What stages say: frozen values that know how to become JSON."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from ..agreement.verdict.words import Verdict
from ..as_json import AsJson
from ..digits import in_digits
from ..readable import Readable
from ..traces.result import CourseApart, CourseWord, MeanFound, TraceWord


@dataclass(frozen=True)
class StageMeans:
    """Means of a note in a sample over assessors, points of 0 to 100, each with its interval.

    `log_ratio` is that of finish to arrival: what the words go by. 0 is a finish like the arrival.
    """

    nose: MeanFound
    arrival: MeanFound
    development: MeanFound
    finish: MeanFound
    log_ratio: MeanFound


@dataclass(frozen=True)
class SampleStaged:
    """One sample: its glasses, the means of its stages, and whether the note bursts or lingers.

    Attributes
    ----------
    greatest
        Mean over assessors of the greater of arrival and finish, points.
    n_scored
        Glasses scored both on arrival and in the finish.
    n_at_top
        Glasses with a score on arrival or in the finish so near the end of the line that more could
        not be said.
    n_not_perceived
        Glasses with 0 on arrival and in the finish: they have no course.
    """

    sample: str
    n_glasses: int
    n_people: int
    n_not_perceived: int
    greatest: float | None
    n_scored: int
    n_at_top: int
    means: StageMeans
    verdict: Verdict[TraceWord]

    @property
    def finish_to_arrival(self) -> str:
        """The log ratio as a ratio, with its interval, as text; 5 points are added to both."""
        return ratio_told(self.means.log_ratio)


@dataclass(frozen=True)
class StagedNote:
    """One note: what is said of each sample, and of each two, by those who scored both.

    The `difference` of a pair is the log ratio of the second less that of the first; the intervals
    of all pairs of all notes hold together.
    """

    note: str
    samples: tuple[SampleStaged, ...]
    pairs: tuple[CourseApart, ...]

    @property
    def verdicts(self) -> tuple[Verdict[CourseWord | TraceWord], ...]:
        """What is said: the pairs that differ, each sample, and of one pair alone that too."""
        differ = [pair for pair in self.pairs if pair.differ]
        others = [pair for pair in self.pairs if not pair.differ] if len(self.pairs) == 1 else []
        told: list[Verdict[CourseWord | TraceWord]] = [pair.verdict for pair in differ]
        told += [one.verdict for one in self.samples]
        return (*told, *(pair.verdict for pair in others))


@dataclass(frozen=True, repr=False)
class Stages(AsJson, Readable):
    """Where the notes of a session lie that were scored by stages.

    Attributes
    ----------
    people_needed
        Who score both of two samples, for a mild difference in course 8 times in 10, all pairs and
        notes of this session counted.
    left_out
        Glasses that do not count, by why.
    """

    session: str
    n_people: int
    notes: tuple[StagedNote, ...]
    people_needed: int
    error: float
    left_out: Mapping[str, int]

    def said(self) -> Iterator[str]:
        """Give what is said of each note, then the figures."""
        for note in self.notes:
            yield from (verdict.sentence for verdict in note.verdicts)
        yield from self.figures()

    def figures(self) -> Iterator[str]:
        """Give the figures behind a finding as sentences."""
        return figures(self)

    def rows(self) -> Iterable[object]:
        """Give the samples of each note."""
        return [one for note in self.notes for one in note.samples]


def ratio_told(found: MeanFound) -> str:
    """Return a mean log ratio as a ratio, with its interval."""
    if found.mean is None:
        return "-"
    mean = in_digits(math.exp(found.mean), ".2f")
    if found.low is None or found.high is None:
        return mean
    low, high = (in_digits(math.exp(each), ".2f") for each in (found.low, found.high))
    return f"{mean} ({low} to {high})"


def figures(found: Stages) -> Iterator[str]:
    """Give the figures behind a finding as sentences."""
    for note in found.notes:
        silent = sum(not pair.differ for pair in note.pairs)
        if silent and len(note.pairs) > 1:
            yield (
                f"{note.note}: of {len(note.pairs)} pairs of samples {silent} are not found to "
                "differ in course, which is not found alike."
            )
        for one in note.samples:
            if one.n_not_perceived:
                yield (
                    f"{note.note} in {one.sample}: neither on arrival nor in the finish in "
                    f"{one.n_not_perceived} of {one.n_glasses}."
                )
    if found.left_out:
        listed = ", ".join(f"{n} {why}" for why, n in found.left_out.items())
        yield f"Left out: {listed}."
