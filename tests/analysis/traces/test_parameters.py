"""Parameters of a trace, against a worked example and what each word means."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.errors import InputError
from analysis.traces import course_of, trace_parameters
from analysis.traces.components import LAG_S, lag_of, shapes
from analysis.traces.parameters import PROMPTS_S, counts

# Terms of ASTM E1909 (Standard Guide for Time-Intensity Evaluation of Sensory Attributes); the
# figures are reckoned by hand from straight lines between these points.
SECONDS, POINTS = (0, 5, 10, 20, 60), (0, 60, 60, 30, 0)


def test_the_worked_example() -> None:
    found = trace_parameters(SECONDS, POINTS)
    assert (found.auc, found.i_max, found.t_max) == (1500.0, 60.0, 5.0)
    assert (found.plateau, found.half_life, found.burst_share) == (7.5, 10.0, 0.3)
    assert (found.auc_before, found.auc_after) == (150.0, 1350.0)
    assert found.linger_share == pytest.approx(337.5 / 1500)
    assert found.onset == pytest.approx(5 / 12)
    assert found.duration == pytest.approx(20 + 25 / 30 * 40 - 5 / 12)
    assert found.rise_rate == pytest.approx(12.0)
    assert found.fall_rate == pytest.approx(55 / (20 + 25 / 30 * 40 - 10))
    assert not found.still_there


def test_areas_are_those_of_numpy_on_a_fine_grid() -> None:
    rng = np.random.default_rng(5)
    fine = np.linspace(0, 60, 60_001)
    for _ in range(20):
        points = rng.integers(0, 10, len(PROMPTS_S)) * 100 / 9
        found, drawn = (
            trace_parameters(PROMPTS_S, points.tolist()),
            np.interp(fine, PROMPTS_S, points),
        )
        assert found.auc == pytest.approx(float(np.trapezoid(drawn, fine)), rel=1e-6)
        late = fine >= 30
        share = float(np.trapezoid(drawn[late], fine[late])) / found.auc
        assert found.linger_share == pytest.approx(share, rel=1e-4)
        assert found.plateau == pytest.approx(np.mean(drawn >= 0.9 * points.max()) * 60, abs=0.01)
        assert found.auc_before + found.auc_after == pytest.approx(found.auc)


def test_what_lasts_is_cut_at_a_minute_and_said_to_be_there() -> None:
    found = trace_parameters((0, 10, 30, 62), (0, 40, 60, 50))
    assert found.still_there
    assert found.half_life is None
    assert found.fall_rate is None
    assert found.onset is not None
    assert found.duration == pytest.approx(60 - found.onset)
    assert trace_parameters((0, 30, 60, 74), (0, 60, 50, 0)) == trace_parameters(
        (0, 30, 60), (0, 60, 50)
    )


def test_a_note_that_is_not_there_has_an_amount_and_no_course() -> None:
    found = trace_parameters(PROMPTS_S, [0] * 7)
    assert (found.i_max, found.auc, found.plateau) == (0.0, 0.0, 0.0)
    assert found.onset is found.duration is found.half_life is found.burst_share is None
    assert course_of(PROMPTS_S, [0] * 7).linger_part is None


def test_a_course_does_not_move_with_the_amount() -> None:
    seconds = np.array([0, 5.5, 10, 22, 31, 45, 61])  # as the answers really came
    one = course_of(seconds.tolist(), (shapes(seconds) @ (20.0, 15.0)).tolist())
    two = course_of(seconds.tolist(), (shapes(seconds) @ (40.0, 30.0)).tolist())
    assert (one.burst, one.linger) == pytest.approx((20.0, 15.0))
    assert one.linger_part == pytest.approx(two.linger_part)
    assert course_of((0, 5, 10, 20, 60), (0, 60, 20, 0, 0)).linger == 0.0


def test_a_lag_is_found_from_all_traces_of_a_person() -> None:
    seconds = np.array(PROMPTS_S, float)
    made = [(PROMPTS_S, (shapes(seconds, 4.5) @ each).tolist()) for each in ((40, 10), (5, 20))]
    assert lag_of(made) == 4.5
    assert course_of(*made[0]).burst == pytest.approx(40)
    assert lag_of([(PROMPTS_S, [0] * 7)]) == LAG_S


def test_a_trace_counts_with_five_answers_the_last_of_them_late() -> None:
    assert counts([0, 5, 10, 20, 45])
    assert not counts([0, 5, 10, 20, 30])
    assert not counts([0, 5, 10, 45])
    assert not counts([0, 5, 10, 20, 90])


@pytest.mark.parametrize(
    ("seconds", "points"),
    [((0,), (1,)), ((0, 5), (1,)), ((-1, 5), (1, 2)), ((0, 5), (1, float("nan")))],
)
def test_what_is_no_trace_is_refused(seconds: tuple[float, ...], points: tuple[float, ...]) -> None:
    with pytest.raises(InputError):
        trace_parameters(seconds, points)
