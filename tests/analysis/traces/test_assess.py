"""From answers to a finding; power and what does not move with amount, in simulation."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import scipy.stats

from analysis.errors import InputError
from analysis.traces import assess_traces, plan_traces
from analysis.traces.plan import BOTH_TRACED, CourseFar, paired_power
from tests.bench.bench_traces import distances, indices
from tests.bench.trace_worlds import MILD, TWICE, glasses, people
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


def test_a_plan_is_refused_without_people() -> None:
    with pytest.raises(InputError):
        plan_traces(0)
    assert paired_power(2, 5.0) == 0.0
    three = plan_traces(20, samples=3)
    assert three.people_needed > plan_traces(20).people_needed


@pytest.mark.slow
def test_glasses_that_are_said_find_a_mild_difference_eight_times_in_ten() -> None:
    """26 glasses by the linger part, 28 by the log ratio of stage scores: .80 within .05."""
    rng, found = np.random.default_rng(11), dict.fromkeys(("linger part", "log ratio"), 0)
    worlds = 1500
    for name, index, n in (("linger part", 0, 26), ("log ratio", 1, 28)):
        one, other = (
            list(indices(glasses(course, people(worlds * n, rng, 0.3), rng)).values())[index]
            for course in MILD
        )
        p = scipy.stats.ttest_ind(one.reshape(worlds, n), other.reshape(worlds, n), axis=1).pvalue
        found[name] = int((p < 0.05).sum())
    assert {name: abs(times / worlds - 0.8) < 0.05 for name, times in found.items()} == {
        "linger part": True,
        "log ratio": True,
    }, found


def test_where_only_the_amount_doubles_the_linger_part_stands() -> None:
    moved = distances(TWICE, 8000, 0.3)
    assert abs(moved["linger part L / (L + B)"][0]) < 0.06
    assert abs(moved["log ratio of finish to arrival"][0]) < 0.3
    assert moved["finish less arrival"][0] < -0.8  # which is why it is not the index


@pytest.mark.slow
def test_the_distances_of_a_plan_are_those_measured() -> None:
    measured = distances(MILD, 20_000, 0.3)["linger part L / (L + B)"]
    assert measured[1] == pytest.approx(BOTH_TRACED[CourseFar.MILD], abs=0.03)
