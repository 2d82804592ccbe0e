"""From answers to a finding; power and what does not move with amount, in simulation."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import scipy.stats

from analysis.errors import InputError
from analysis.traces import Traces, TraceWord, assess_traces, plan_traces
from analysis.traces.assess import judge_traces
from analysis.traces.components import delay_between, shapes
from analysis.traces.keys import Ends
from analysis.traces.minutes import Minute
from analysis.traces.parameters import PROMPTS_S
from analysis.traces.plan import BOTH_TRACED, CourseFar, paired_power
from tests.bench.bench_traces import distances, indices
from tests.bench.trace_worlds import MILD, TWICE, glasses, lags_of, people
from tests.houses.traced import BURST, LINGER, SECONDS


def answers(courses: dict[str, tuple[int, ...]], n: int = 5, **changes: object) -> pd.DataFrame:
    rows = [
        {
            **{"assessor": f"A{who}", "glass": sample, "sample": sample, "at_s": float(at)},
            **{"given": max(0, key - (who + at) % 2), "status": "kept", **changes},
        }
        for who in range(n)
        for sample, course in courses.items()
        for at, key in zip(SECONDS, course, strict=True)
    ]
    return pd.DataFrame(rows)


def test_parameters_are_averaged_over_assessors_with_a_t_interval() -> None:
    found = assess_traces(answers({"x": BURST, "y": LINGER}), note="smoke")
    assert [one.verdict.word.value for one in found.samples] == ["bursts", "lingers"]
    pair = found.pairs[0]
    assert pair.differ
    assert (pair.first, pair.second, pair.n_people) == ("x", "y", 5)
    top = found.samples[0].means.i_max
    said = np.array(
        [
            max(max(0, k - (w + s) % 2) for s, k in zip(SECONDS, BURST, strict=True))
            for w in range(5)
        ]
    )
    low, high = scipy.stats.t.interval(
        0.95, 4, said.mean() * 100 / 9, scipy.stats.sem(said * 100 / 9)
    )
    assert (top.low, top.high) == pytest.approx((low, high))


def test_what_does_not_count_is_left_out_and_told() -> None:
    whole = answers({"x": BURST}, 4)
    void = answers({"z": BURST}, 2, status="void")
    short = whole.assign(glass="9", sample="s")
    short.loc[short["at_s"] > 10, "at_s"] = np.nan
    nothing = whole.assign(glass="8", sample="n", at_s=np.nan)
    found = assess_traces(pd.concat([whole, void, short, nothing]))
    assert found.left_out == {
        "void": 2,
        "with too few prompts answered": 4,
        "not answered": 4,
    }
    by_name = {one.sample: one for one in found.samples}
    assert by_name["x"].n_traces == 4
    assert by_name["z"].verdict.word.value == "too little yet"
    assert not any(pair.differ for pair in found.pairs)


def minutes(*traces: tuple[str, tuple[int, ...]]) -> Traces:
    """Judge traces: of each its sample and its keys; each sample's are by assessors in order."""
    seen: dict[str, int] = {}
    rows = []
    for sample, keys in traces:
        seen[sample] = seen.get(sample, 0) + 1
        rows += [
            {
                **{"assessor": f"A{seen[sample]}", "glass": sample, "sample": sample},
                **{"at_s": float(at), "given": key, "status": "kept"},
            }
            for at, key in zip(SECONDS, keys, strict=True)
        ]
    return assess_traces(pd.DataFrame(rows))


def test_a_burst_that_the_keys_do_not_bear_out_is_not_told() -> None:
    slow = ((7, 6, 5, 4, 3, 3, 1), (6, 6, 6, 5, 5, 3, 0), (6, 6, 5, 5, 3, 1, 3))
    one = minutes(*(("x", keys) for keys in slow * 2)).samples[0]
    assert one.means.linger_part.high is not None
    assert one.means.linger_part.high < 0.5  # two shapes alone would have it burst
    assert (one.keys.n_half_gone, one.keys.n_people) == (2, 6)
    assert one.verdict.word.value == "cannot tell yet"
    assert "below half of its greatest with 2 of 6 people" in one.verdict.sentence


def test_what_is_still_there_at_a_minute_is_counted_on_a_little() -> None:
    stays = ((0, 8, 8, 4, 3, 1, 1), (0, 7, 8, 5, 3, 2, 1), (0, 8, 7, 4, 2, 1, 1))
    goes = tuple((*keys[:5], 0, 0) for keys in stays)
    still, gone = (minutes(*(("x", keys) for keys in each)).samples[0] for each in (stays, goes))
    assert [one.verdict.word.value for one in (still, gone)] == ["bursts", "bursts"]
    assert "3 of 3 traces still have it at 60 s" in still.verdict.sentence
    assert "do not count on it in the finish" in gone.verdict.sentence


def test_pairs_are_withheld_where_keys_end() -> None:
    full = tuple(("y", (0, 9, 9, 9, 8 - n % 2, 7, 6)) for n in range(4))
    half = tuple(("x", (0, 5, 6, 5, 3, 2 + n % 2, 2)) for n in range(4))
    none = tuple(("x", (0, 2, 3, 1, n % 2, 0, 0)) for n in range(4))
    usual = tuple(("y", (0, 6, 7, 5, 4, 3 + n % 2, 3)) for n in range(4))
    at_top, at_0, plain = (
        minutes(*each).pairs[0] for each in (half + full, none + usual, half + usual)
    )
    assert at_top.bent_by is not None
    assert (at_top.bent_by.end, at_top.bent_by.sample, at_top.bent_by.n) == (Ends.AT_TOP, "y", 4)
    assert "keys reached 9 in 4 of 4 traces of y" in at_top.verdict.sentence
    assert at_0.bent_by is not None
    assert (at_0.bent_by.end, at_0.bent_by.sample, at_0.bent_by.n) == (Ends.AT_0, "x", 10)
    assert "its keys stood at 0 in 10 of 20 answers" in at_0.verdict.sentence
    assert not at_top.differ
    assert not at_0.differ
    assert plain.bent_by is None


def test_a_panel_that_answers_late_has_no_more_of_a_linger() -> None:
    rng = np.random.default_rng(3)
    parts = []
    for lag in (2.0, 5.0):
        found = glasses((40.0, 40.0), people(400, rng, 0.3, (lag, 1.0)), rng)
        parts.append(float(found.linger_part(lags_of(found)).mean()))
    assert parts == pytest.approx([0.5, 0.5], abs=0.05)  # .56 and .79 by a lag of 2 s for all


def test_a_plan_is_refused_without_people() -> None:
    with pytest.raises(InputError):
        plan_traces(0)
    assert paired_power(2, 5.0) == 0.0
    three = plan_traces(20, samples=3)
    assert three.people_needed > plan_traces(20).people_needed


@pytest.mark.slow
def test_glasses_that_are_said_find_a_mild_difference_eight_times_in_ten() -> None:
    """22 glasses by the linger part, 28 by the log ratio of stage scores: .80 within .05."""
    rng, found = np.random.default_rng(11), dict.fromkeys(("linger part", "log ratio"), 0)
    worlds = 1500
    for name, index, n in (("linger part", 0, 22), ("log ratio", 1, 28)):
        one, other = (
            list(indices(found_of, lags_of(found_of)).values())[index]
            for course in MILD
            for found_of in (glasses(course, people(worlds * n, rng, 0.3), rng),)
        )
        p = scipy.stats.ttest_ind(one.reshape(worlds, n), other.reshape(worlds, n), axis=1).pvalue
        found[name] = int((p < 0.05).sum())
    assert {name: abs(times / worlds - 0.8) < 0.05 for name, times in found.items()} == {
        "linger part": True,
        "log ratio": True,
    }, found


@pytest.mark.slow
def test_where_only_the_amount_doubles_the_linger_part_stands() -> None:
    moved = distances(TWICE, 8000, 0.3)
    assert abs(moved["linger part L / (L + B)"][0]) < 0.06
    assert abs(moved["log ratio of finish to arrival"][0]) < 0.3
    assert moved["finish less arrival"][0] < -0.8  # which is why it is not the index


@pytest.mark.slow
def test_the_distances_of_a_plan_are_those_measured() -> None:
    measured = distances(MILD, 20_000, 0.3)["linger part L / (L + B)"]
    assert measured[1] == pytest.approx(BOTH_TRACED[CourseFar.MILD], abs=0.05)


def test_a_sample_that_all_perceive_later_takes_no_other_course_for_that() -> None:
    """The same course in both, without noise, the second 2 s after the first."""
    t = np.array(PROMPTS_S, float)
    minutes = [
        Minute(str(who), name, t.tolist(), (shapes(t, lag + later) @ (40.0, 20.0 + who)).tolist())
        for who, lag in enumerate((1.0, 2.0, 3.0, 4.0))
        for name, later in (("x", 0.0), ("y", 2.0))
    ]
    (pair,) = judge_traces(minutes, ("x", "y")).pairs
    assert pair.later is not None
    assert pair.later.seconds == 2.0
    assert pair.later.difference == pytest.approx(0.0, abs=1e-9)
    assert pair.difference is not None
    assert pair.difference > 0.03
    assert not pair.differ
    assert "y is perceived 2.0 s after x" in pair.verdict.said


def test_a_delay_is_found_beside_the_lag_of_each_person() -> None:
    t = np.array(PROMPTS_S, float)
    lags = (0.5, 2.5, 6.0)

    def trace(lag: float, *course: float) -> list[tuple[list[float], list[float]]]:
        return [(t.tolist(), (shapes(t, lag) @ course).tolist())]

    traces = [(trace(lag + 1.5, 30.0, 30.0), trace(lag, 10.0, 50.0)) for lag in lags]
    found = delay_between(traces)
    assert found.seconds == -1.5
    assert found.lags == tuple((lag + 1.5, lag) for lag in lags)
    nothing = delay_between([(trace(0.0, 0.0, 0.0), trace(0.0, 0.0, 0.0))])
    assert nothing.seconds == 0.0


@pytest.mark.parametrize("delay", [5.0, 8.0, 12.0, 26.0])
def test_a_course_is_not_told_beside_a_long_delay(delay: float) -> None:
    """Keys of one course, the second sample well after the first: what is told is the delay."""
    t = np.array(PROMPTS_S, float)
    minutes = [
        Minute(str(who), name, t.tolist(), (shapes(t, lag + later) @ (40.0, 36.0 + who)).tolist())
        for who, lag in enumerate((1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0))
        for name, later in (("x", 0.0), ("y", delay))
    ]
    found = judge_traces(minutes, ("x", "y"), note="smoke")
    (pair,) = found.pairs
    assert pair.later is not None
    assert pair.later.seconds == min(delay, 20.0)
    assert not pair.differ
    said = f"{pair.later.seconds:.1f} s {'or more ' if delay > 20 else ''}after x"
    assert f"y is perceived {said}" in pair.verdict.said
    assert "more people" not in pair.verdict.next_action
    assert found.samples[1].verdict.word is not TraceWord.LINGERS
    figures = [line for line in found.said() if "first perceived" in line]
    assert len(figures) == 1
    assert "how much later one sample comes is not in it" in figures[0]
