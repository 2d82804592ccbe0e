"""From scores by stages to a finding."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from ..traces.assess import by_person, mean_over_people
from ..traces.keys import BentBy
from ..traces.minutes import KEPT
from ..traces.result import CourseApart
from .ends import EndsOf, at_top, stages_bent_by
from .index import log_ratio
from .plan import ERROR, STAGE_ERROR, pairs_of, stage_people_needed
from .result import SampleStaged, StagedNote, StageMeans, Stages
from .verdict import apart_verdict, is_faint, stages_verdict

if TYPE_CHECKING:
    import pandas as pd

STAGES = ("nose", "arrival", "development", "finish")
BLANK = "without arrival or finish"


@dataclass(frozen=True)
class Staged:
    """One glass of one assessor: points by stage, as far as they were given."""

    assessor: str
    sample: str
    points: Mapping[str, float]

    @property
    def whole(self) -> bool:
        """Whether both ends of the course were scored."""
        return {"arrival", "finish"} <= self.points.keys()

    @property
    def log_ratio(self) -> float | None:
        """That of finish to arrival; None where either is blank, or both are 0."""
        if not self.whole:
            return None
        return log_ratio(self.points["arrival"], self.points["finish"])

    @property
    def greatest(self) -> float | None:
        """The greater of arrival and finish."""
        return max(self.points["arrival"], self.points["finish"]) if self.whole else None


@dataclass(frozen=True)
class _Tested:
    """How pairs are tested: at which error each, and how many people a mild one wants."""

    error: float
    needed: int


def assess_stages(scores: pd.DataFrame, *, session: str = "") -> Stages:
    """Say where notes lie in each sample, and whether samples differ in that.

    Parameters
    ----------
    scores
        One row a note of a glass: `assessor`, `glass` (one number or code a glass of an assessor),
        `sample`, `note`, `nose`, `arrival`, `development`, `finish` (points of 0 to 100; missing:
        blank), `status` (kept counts).

    Examples
    --------
    >>> import pandas as pd
    >>> rows = [{"assessor": f"A{i}", "glass": "1", "sample": "x", "note": "smoke", "nose": 30.0,
    ...          "arrival": 60.0 + i, "development": 40.0, "finish": 10.0 + i, "status": "kept"}
    ...         for i in range(4)]
    >>> assess_stages(pd.DataFrame(rows)).notes[0].samples[0].verdict.word.value
    'bursts'
    """
    named = list(dict.fromkeys(str(note) for note in scores["note"]))
    samples = sorted({str(name) for name in scores["sample"]})
    pairs = pairs_of(len(samples), len(named))
    tested = _Tested(STAGE_ERROR / pairs, stage_people_needed(pairs))
    left_out: Counter[str] = Counter()
    staged = {name: _staged(scores[scores["note"] == name], left_out) for name in named}
    return Stages(
        session=session,
        n_people=len({one.assessor for glasses in staged.values() for one in glasses}),
        notes=tuple(_note(name, samples, staged[name], tested) for name in named),
        people_needed=tested.needed,
        error=ERROR,
        left_out=dict(left_out),
    )


def _staged(rows: pd.DataFrame, left_out: Counter[str]) -> list[Staged]:
    """Return the glasses that count for one note; the others are counted by why."""
    found: list[Staged] = []
    for row in rows.to_dict("records"):
        points = {at: float(row[at]) for at in STAGES if not math.isnan(float(row[at]))}
        one = Staged(str(row["assessor"]), str(row["sample"]), points)
        if row["status"] != KEPT:
            left_out[str(row["status"]).replace("_", " ")] += 1
            continue
        if not one.whole:
            left_out[BLANK] += 1
        found.append(one)
    return found


def _note(name: str, samples: Sequence[str], staged: Sequence[Staged], how: _Tested) -> StagedNote:
    told = tuple(_sample(name, sample, staged) for sample in samples)
    faint = {one.sample for one in told if one.greatest is not None and is_faint(one.greatest)}
    ends = {one.sample: found for one in told if (found := _ends(one)) is not None}
    pairs = []
    for pair in combinations(samples, 2):
        both = [ends[sample] for sample in pair if sample in ends]
        bent = stages_bent_by(*both) if len(both) == len(pair) else None
        pairs.append(_pair(name, pair, staged, faint, bent, how))
    return StagedNote(name, told, tuple(pairs))


def _ends(one: SampleStaged) -> EndsOf | None:
    arrival, finish, greatest = one.means.arrival.mean, one.means.finish.mean, one.greatest
    if arrival is None or finish is None or greatest is None:
        return None
    return EndsOf(one.sample, arrival, finish, greatest, one.n_at_top, one.n_scored)


def _sample(note: str, name: str, staged: Sequence[Staged]) -> SampleStaged:
    mine = [one for one in staged if one.sample == name]
    each = {at: mean_over_people(by_person(mine, _points(at))) for at in STAGES}
    means = StageMeans(**each, log_ratio=mean_over_people(by_person(mine, _ratio)))
    greatest = mean_over_people(by_person(mine, lambda one: one.greatest)).mean
    return SampleStaged(
        sample=name,
        n_glasses=len(mine),
        n_people=len({one.assessor for one in mine}),
        n_not_perceived=sum(one.greatest == 0 for one in mine),
        greatest=greatest,
        n_scored=sum(one.whole for one in mine),
        n_at_top=at_top([one.greatest for one in mine]),
        means=means,
        verdict=stages_verdict(note, name, means.log_ratio, len(mine), greatest, means.finish.mean),
    )


def _points(stage: str) -> Callable[[Staged], float | None]:
    return lambda one: one.points.get(stage)


def _ratio(one: Staged) -> float | None:
    return one.log_ratio


def _pair(
    note: str,
    pair: tuple[str, str],
    staged: Sequence[Staged],
    faint: set[str],
    bent: BentBy | None,
    how: _Tested,
) -> CourseApart:
    first, second = (
        by_person([one for one in staged if one.sample == name], _ratio) for name in pair
    )
    both = {who: second[who] - first[who] for who in first if who in second}
    found = mean_over_people(both, how.error)
    faint_here = tuple(name for name in pair if name in faint)
    verdict = apart_verdict(note, pair, found, how.needed, faint_here, bent)
    return CourseApart(*pair, found.n_people, found.mean, found.low, found.high, bent, verdict)
