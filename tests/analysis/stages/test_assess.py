"""Scores by stages: the ratio worked by hand, what counts, and what is too faint to be told."""

from __future__ import annotations

import math

import pandas as pd
import pytest
import scipy.stats

from analysis.stages import ADDED, assess_stages, log_ratio, plan_stages
from analysis.traces import CourseWord, TraceWord
from analysis.traces.plan import CourseFar


def scored(
    points: dict[str, tuple[float, float]], people: int = 5, by: float = 1.0
) -> pd.DataFrame:
    rows = [
        {
            **{"assessor": f"A{n}", "glass": name, "sample": name, "note": "smoke"},
            **{"nose": 20.0, "arrival": a + by * n, "development": 20.0, "finish": f + by * n},
            "status": "kept",
        }
        for n in range(people)
        for name, (a, f) in points.items()
    ]
    return pd.DataFrame(rows)


def test_the_interval_is_that_of_the_t_test_of_scipy() -> None:
    frame = scored({"x": (60.0, 20.0), "y": (60.0, 50.0)})
    (note,) = assess_stages(frame).notes
    one = note.samples[0].means.log_ratio
    by_hand = [math.log((20 + n + ADDED) / (60 + n + ADDED)) for n in range(5)]
    other = [math.log((50 + n + ADDED) / (60 + n + ADDED)) for n in range(5)]
    interval = scipy.stats.ttest_1samp(by_hand, 0.0).confidence_interval(0.95)
    assert (one.low, one.high) == pytest.approx((interval.low, interval.high))
    paired = scipy.stats.ttest_rel(other, by_hand).confidence_interval(0.975)
    (pair,) = note.pairs
    assert (pair.low, pair.high) == pytest.approx((paired.low, paired.high))
    assert [each.verdict.word for each in note.samples] == [TraceWord.BURSTS, TraceWord.LINGERS]
    assert pair.verdict.word is CourseWord.DIFFER


def test_blanks_voids_and_zeros_have_no_course() -> None:
    frame = scored({"x": (60.0, 20.0)})
    frame.loc[0, "finish"] = float("nan")
    frame.loc[1, ["arrival", "finish"]] = 0.0
    frame.loc[2, "status"] = "knew_key"
    found = assess_stages(frame)
    (one,) = found.notes[0].samples
    assert found.left_out == {"without arrival or finish": 1, "knew key": 1}
    assert (one.n_glasses, one.n_not_perceived, one.means.log_ratio.n_people) == (4, 1, 2)
    assert one.verdict.word is TraceWord.TOO_LITTLE
    assert log_ratio(0.0, 0.0) is None


def test_a_faint_note_is_said_to_be_faint_and_is_not_compared() -> None:
    found = assess_stages(scored({"x": (8.0, 9.0), "y": (60.0, 10.0)}, by=0.2))
    faint, strong = found.notes[0].samples
    assert faint.verdict.word is TraceWord.CANNOT_TELL
    assert "below 20 its course is mostly noise" in faint.verdict.said
    assert strong.verdict.word is TraceWord.BURSTS
    assert "too little of it in x" in found.notes[0].pairs[0].verdict.said


@pytest.mark.parametrize(
    ("points", "why"),
    [
        ({"x": (40.0, 5.0), "y": (90.0, 10.0)}, "x is the fainter and stands near 0"),
        ({"x": (60.0, 20.0), "y": (99.0, 70.0)}, "5 of 5 glasses of y stand near the end"),
    ],
)
def test_an_end_of_the_line_leaves_two_samples_uncompared(
    points: dict[str, tuple[float, float]], why: str
) -> None:
    (pair,) = assess_stages(scored(points, by=0.2)).notes[0].pairs
    assert pair.bent_by is not None
    assert pair.verdict.word is CourseWord.CANNOT_TELL
    assert why in pair.verdict.said


def test_what_is_still_there_in_the_finish_is_not_told_to_be_gone() -> None:
    (one,) = assess_stages(scored({"x": (90.0, 40.0)})).notes[0].samples
    assert one.verdict.word is TraceWord.BURSTS
    assert one.verdict.next_action.endswith("42 points of it stay in the finish")


def test_glasses_for_a_mild_difference() -> None:
    """28 of each by the normal curve at a distance of .74: 2 (1.96 + .84)^2 / .74^2."""
    found = plan_stages(8)
    assert abs(found.glasses_needed - 28) <= 2
    assert [one.apart for one in found.power] == list(CourseFar)
    assert plan_stages(8, 4).people_needed > found.people_needed


@pytest.mark.parametrize("blank", [0, 3])
def test_glasses_without_arrival_and_finish_count_nowhere_at_the_top(blank: int) -> None:
    rows = [
        {"assessor": f"A{i}", "sample": sample, "arrival": arrival, "finish": finish}
        for i in range(8)
        for sample, arrival, finish in (
            ("x", 96 if i == 0 else 85 - i, 50 + 2 * i),
            ("y", 70 - i, 30 + i),
        )
    ]
    rows += [
        {"assessor": f"B{i}", "sample": "x", "arrival": math.nan, "finish": math.nan}
        for i in range(blank)
    ]
    frame = pd.DataFrame(rows).assign(note="smoke", nose=30.0, development=40.0, status="kept")
    (pair,) = assess_stages(frame.assign(glass=frame["sample"])).notes[0].pairs
    assert pair.bent_by is not None
    assert (pair.bent_by.sample, pair.bent_by.n, pair.bent_by.of) == ("x", 1, 8)
