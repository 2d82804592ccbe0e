"""What traces say: frozen values that know how to become JSON."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from ..agreement.verdict.words import Verdict
from ..as_json import AsJson
from ..digits import in_digits
from ..readable import Readable
from .components import MOST_DELAY_S, TOLD_DELAY_S
from .keys import BentBy, KeysFound


class TraceWord(StrEnum):
    """What is said of the course of a note in one sample."""

    BURSTS = "bursts"
    LINGERS = "lingers"
    CANNOT_TELL = "cannot tell yet"
    TOO_LITTLE = "too little yet"


class CourseWord(StrEnum):
    """What is said of the courses of a note in two samples."""

    DIFFER = "differ in course"
    CANNOT_TELL = "cannot tell yet"
    TOO_LITTLE = "too little yet"


@dataclass(frozen=True)
class MeanFound:
    """A mean over assessors, each with the mean of their glasses, and its 95 % interval.

    `low` and `high` are None with fewer than three assessors, all three with none.
    """

    n_people: int
    mean: float | None
    low: float | None
    high: float | None

    def told(self, digits: str) -> str:
        """Return the mean with its interval, as text."""
        if self.mean is None:
            return "-"
        if self.low is None or self.high is None:
            return in_digits(self.mean, digits)
        between = f"{in_digits(self.low, digits)} to {in_digits(self.high, digits)}"
        return f"{in_digits(self.mean, digits)} ({between})"


@dataclass(frozen=True)
class TraceMeans:
    """Means of the parameters of a sample's traces: of parameters, never of curves.

    Attributes
    ----------
    linger_part
        L / (L + B) of two components: what the words go by.
    burst, linger
        The components, points at their peaks.
    lag
        Seconds from the sip to what is first perceived, each assessor's over all their traces.
    burst_share, linger_share
        Shares of area up to 10 s and from 30 s on.
    i_max, t_max, onset, plateau, auc, duration, half_life
        Terms of ASTM E1909; of those that a glass did not reach within the minute, only the others.
    """

    linger_part: MeanFound
    burst: MeanFound
    linger: MeanFound
    lag: MeanFound
    burst_share: MeanFound
    linger_share: MeanFound
    i_max: MeanFound
    t_max: MeanFound
    onset: MeanFound
    plateau: MeanFound
    auc: MeanFound
    duration: MeanFound
    half_life: MeanFound


@dataclass(frozen=True)
class SampleTraced:
    """One sample: its traces, their means, and whether the note bursts or lingers.

    Attributes
    ----------
    n_still_there
        Traces on which the note stood at 5 points or more at 60 s.
    n_not_perceived
        Traces without any of the note: they have amounts, and no course.
    keys
        What the keys say without any model.
    """

    sample: str
    n_traces: int
    n_people: int
    n_still_there: int
    n_not_perceived: int
    means: TraceMeans
    keys: KeysFound
    verdict: Verdict[TraceWord]


@dataclass(frozen=True)
class Later:
    """One sample perceived after another by everybody, and what is left of their difference then.

    Attributes
    ----------
    seconds
        By how much later the second is perceived, as fits all traces of both best.
    difference, low, high
        The linger part of the second less that of the first where each begins at its own lag.
    """

    seconds: float
    difference: float | None
    low: float | None
    high: float | None

    @property
    def too_long(self) -> bool:
        """Whether no course can be told beside such a delay."""
        return abs(self.seconds) > TOLD_DELAY_S

    @property
    def longest(self) -> bool:
        """Whether it is the longest delay that is tried, so that it may be longer still."""
        return abs(self.seconds) >= MOST_DELAY_S

    def agrees(self, low: float, high: float) -> bool:
        """Whether a course can be told: an interval without 0 lies on one side with its own."""
        if self.too_long or self.low is None or self.high is None:
            return False
        return self.low > 0 < low or self.high < 0 > high


@dataclass(frozen=True)
class Delayed:
    """How many seconds a sample is perceived after another; below 0 before it."""

    other: str
    seconds: float


@dataclass(frozen=True)
class CourseApart:
    """Two samples beside each other, by those who traced both; by stages, who scored both.

    `difference` is the linger part of the second less that of the first; the intervals of all pairs
    hold together, 96 times in 100, which says falsely in at most 5 that two differ. `bent_by` says
    whose answers stood so often at an end of the line that they are not compared (None: nobody's).
    `later` is what is left of the difference where one is perceived after the other (None: there is
    no such thing, as by stages, or nobody traced both).
    """

    first: str
    second: str
    n_people: int
    difference: float | None
    low: float | None
    high: float | None
    bent_by: BentBy | None
    verdict: Verdict[CourseWord]
    later: Later | None = None

    @property
    def differ(self) -> bool:
        """Whether they were found to differ."""
        return self.verdict.word is CourseWord.DIFFER

    def delay_of(self, sample: str) -> Delayed | None:
        """Return by how much one of both is perceived after the other; None: no telling much."""
        if self.later is None or not self.later.too_long or sample not in (self.first, self.second):
            return None
        if sample == self.second:
            return Delayed(self.first, self.later.seconds)
        return Delayed(self.second, -self.later.seconds)


@dataclass(frozen=True)
class GivenAt:
    """One answer of one glass: at which second after the sip, and how strong, 0 to 100."""

    sample: str
    assessor: str
    seconds: float
    points: float


@dataclass(frozen=True, repr=False)
class Traces(AsJson, Readable):
    """The course of one note in the samples of a session.

    Attributes
    ----------
    lag
        Seconds from the sip to what is first perceived, by the one lag of each assessor.
    people_needed
        Who trace both of two samples, for a mild difference in course 8 times in 10.
    left_out
        Glasses that do not count, by why.
    """

    session: str
    note: str
    n_people: int
    lag: MeanFound
    samples: tuple[SampleTraced, ...]
    pairs: tuple[CourseApart, ...]
    people_needed: int
    error: float
    left_out: Mapping[str, int]
    given: tuple[GivenAt, ...]

    json_keys = (
        *("session", "note", "n_people", "samples", "pairs", "people_needed", "error"),
        *("left_out",),
    )

    def said(self) -> Iterator[str]:
        """Give what is said of pairs, then of samples, then the figures."""
        yield from (pair.verdict.sentence for pair in self.pairs)
        yield from (one.verdict.sentence for one in self.samples)
        yield from figures(self)

    def rows(self) -> Iterable[object]:
        """Give the samples."""
        return self.samples


def figures(found: Traces) -> Iterator[str]:
    """Give the figures behind a finding as sentences."""
    if found.lag.mean is not None:
        yield _lag_told(found)
    for one in found.samples:
        means = one.means
        yield (
            f"{one.sample}: linger part {means.linger_part.told('.2f')}; of the area "
            f"{means.burst_share.told('.2f')} to 10 s, "
            f"{means.linger_share.told('.2f')} from 30 s on; greatest "
            f"{means.i_max.told('.0f')} points."
        )
        yield (
            f"{one.sample}: keys at 0 in {one.keys.n_at_0} of {one.keys.n_keys} answers from 10 s "
            f"on, 9 reached in {one.keys.n_at_top} of {one.n_traces} traces."
        )
        if one.n_still_there:
            yield f"{one.sample}: still there at 60 s in {one.n_still_there} of {one.n_traces}."
        if one.n_not_perceived:
            yield f"{one.sample}: not perceived in {one.n_not_perceived} of {one.n_traces}."
    if found.left_out:
        listed = ", ".join(f"{n} {why}" for why, n in found.left_out.items())
        yield f"Left out: {listed}."


def _lag_told(found: Traces) -> str:
    """Say when people perceive it: one lag of each, which no sample has of its own."""
    late = any(pair.later is not None and pair.later.too_long for pair in found.pairs)
    between = "; how much later one sample comes is not in it" if late else ""
    return (
        f"All samples together: first perceived {found.lag.told('.1f')} s after the sip, by the "
        f"one lag that fits all traces of a person{between}."
    )
