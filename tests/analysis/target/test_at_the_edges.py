"""What a match decides by a figure, on either side of it: lines, errors, ends, what to do next."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest
import scipy.stats

from analysis.errors import TargetError
from analysis.target import NoteReach, Target, TargetLine, note_reach, sample_against
from analysis.target.candidates import Candidates, errors_of
from analysis.target.chance import chance_within
from analysis.target.match import chance_alone, ends_of
from analysis.target.nearest import sureness
from analysis.target.nosed import _line
from analysis.target.off import below_off, moments_off, points_off
from analysis.target.result import CaskMatch
from analysis.target.verdict import Sureness, sure_beside_best, sure_sentence

SMOKE = TargetLine("smoke", 40.0, 6.0)
FOUND = Sureness("Fen", 8, 20, "C8", 0.6, 0.7, 0.95, 7, "smoke")


@pytest.mark.parametrize(
    ("told", "action"),
    [
        ({}, "draw it again"),
        ({"best_probability": 0.05}, "draw it again"),
        ({"best_probability": 0.049}, "think of a vatting"),
        ({"n_distinguishable": 6}, "side by side"),
        ({"best_is_best": 0.5}, "draw it again"),
        ({"best_is_best": 0.499}, "whether nosing the first of the list again still pays"),
        ({"best_is_best": 0.499, "n_distinguishable": 0}, "side by side"),
        ({"best": None}, "nose some casks on every descriptor"),
    ],
)
def test_what_to_do_next(told: dict[str, Any], action: str) -> None:
    assert action in sure_sentence(replace(FOUND, **told))[1]


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({}, "the next 7 are surely further off"),
        ({"n_first": 2, "n_distinguishable": 1}, "the next one is surely further off"),
        ({"n_distinguishable": 0}, "the next 7 cannot be told from it yet"),
        ({"n_distinguishable": 2}, "5 of the next 7 cannot be told from it yet"),
        ({"n_first": 1, "n_distinguishable": 0}, "Only cask C8 can be ranked"),
        ({"best_is_best": 0.004}, "the nearest with a chance below 1 in 100"),
        ({"best_is_best": 0.006}, "the nearest with a chance of 1 in 100"),
        ({"best_is_best": 0.996}, "the nearest with a chance above 99 in 100"),
    ],
)
def test_how_sure_in_words(told: dict[str, Any], said: str) -> None:
    assert said in sure_sentence(replace(FOUND, **told))[0]


def test_only_if_the_right_camp_was_followed() -> None:
    said, action = sure_sentence(FOUND, ["wax"])
    assert said.startswith("Only if the right camp was followed on wax: cask C8 comes first")
    assert action == "nose the reference together before you go by the list"


@pytest.mark.parametrize(
    ("line", "lines", "estimate", "out"),
    # One line: out beyond 1.645 standard errors; of ten lines: beyond 2.576.
    [
        (SMOKE, 1, 46.0 + 1.64 * 2.0, False),
        (SMOKE, 1, 46.0 + 1.65 * 2.0, True),
        (SMOKE, 1, 34.0 - 1.64 * 2.0, False),
        (SMOKE, 1, 34.0 - 1.65 * 2.0, True),
        (SMOKE, 10, 46.0 + 2.57 * 2.0, False),
        (SMOKE, 10, 46.0 + 2.58 * 2.0, True),
        (TargetLine("smoke", 6.0, 6.0), 1, -40.0, False),
        (TargetLine("smoke", 6.1, 6.0), 1, -40.0, True),
        (TargetLine("smoke", 94.0, 6.0), 1, 140.0, False),
        (TargetLine("smoke", 93.9, 6.0), 1, 140.0, True),
    ],
)
def test_a_sample_is_out_by_more_than_the_panel_may_err(
    line: TargetLine, lines: int, estimate: float, out: bool
) -> None:
    found = _line(line, (estimate, 2.0), lines)
    assert found.is_out is out
    low, high = line.aim - line.tolerance, line.aim + line.tolerance
    low, high = -np.inf if low <= 0 else low, np.inf if high >= 100 else high
    normal = scipy.stats.norm(estimate, 2.0)
    assert found.probability == pytest.approx(normal.cdf(high) - normal.cdf(low))


def test_a_line_nobody_scored_is_not_out() -> None:
    found = _line(SMOKE, None, 1)
    assert (found.is_out, found.probability, found.estimate) == (False, None, None)


def estimates_of(*rows: tuple[str, str, float, float, int]) -> pd.DataFrame:
    frame = pd.DataFrame(rows, columns=["sample", "descriptor", "estimate", "se", "component"])
    no_day = pd.Series(pd.NaT, index=frame.index)
    return frame.assign(
        cask=frame["sample"],
        filling=frame["sample"] + "/1",
        kind="test",
        last_nosed=no_day,
        drawn_on=no_day,
    )


def profile_of(*rows: tuple[str, str, float, float, int]) -> Any:
    return cast(Any, SimpleNamespace(estimates=estimates_of(*rows), posterior=None))


def test_a_sample_is_held_against_the_lines_that_were_scored_and_tied() -> None:
    both = Target("Fen", (SMOKE, TargetLine("wax", 10.0, 4.0)))
    scored = profile_of(("x", "smoke", 41.0, 2.0, 0), ("x", "wax", 11.0, 1.5, 0))
    found = sample_against(scored, "x", both)
    apart = scipy.stats.norm(41.0, 2.0), scipy.stats.norm(11.0, 1.5)
    wanted = (apart[0].cdf(46) - apart[0].cdf(34)) * (apart[1].cdf(14) - apart[1].cdf(6))
    assert found.probability == pytest.approx(wanted, abs=1e-6)
    assert found.reason is None
    lacking = profile_of(("x", "smoke", 41.0, 2.0, 0), ("x", "wax", 11.0, np.nan, 0))
    assert "wax was not scored" in (sample_against(lacking, "x", both).reason or "")
    untied = profile_of(("x", "smoke", 90.0, 2.0, 0), ("x", "wax", 11.0, 1.5, 1))
    alone = sample_against(untied, "x", both)
    assert "wax was scored only where" in (alone.reason or "")
    assert (alone.probability, alone.out) == (None, ())


def test_of_how_many_casks_a_note_is_known() -> None:
    profile = profile_of(
        *(("a", "smoke", 1.0, 1.0, 0), ("a", "wax", 1.0, 1.0, 0), ("b", "smoke", 1.0, 1.0, 0)),
        *(("b", "wax", 1.0, 1.0, 1), ("c", "smoke", np.nan, 1.0, 0), ("d", "smoke", 1.0, 1.0, 0)),
    )
    casks = pd.DataFrame({"cask": list("abc"), "filling": ["a/1", "b/1", "c/1"]})
    found = note_reach(profile, casks)
    assert {name: (one.n_casks, one.n_nosed) for name, one in found.items()} == {
        "smoke": (2, 2),
        "wax": (1, 2),
    }
    assert [NoteReach(n, 4).is_common for n in (1, 2, 3)] == [False, True, True]
    assert note_reach(profile_of(("a", "smoke", np.nan, 1.0, 0)), casks) == {}


def test_ends_beyond_the_line_are_free() -> None:
    lines = [TargetLine(str(aim), aim, 5.0) for aim in (5.0, 5.1, 95.0, 94.9)]
    low, high = ends_of(Target("T", tuple(lines)))
    assert low.tolist() == pytest.approx([-np.inf, 0.1, 90.0, 89.9])
    assert high.tolist() == pytest.approx([10.0, 10.1, np.inf, 99.9])
    alone = chance_alone(Target("T", (SMOKE,)), np.array([[41.0]]), np.array([[4.0]]))
    normal = scipy.stats.norm(41.0, 2.0)
    assert alone[0, 0] == pytest.approx(normal.cdf(46.0) - normal.cdf(34.0))


def test_a_chance_of_three_lines_that_go_together() -> None:
    """Against 400,000 joint draws."""
    mean = np.array([[1.0, -0.5, 0.3]])
    covariance = np.array([[[4.0, 1.8, -0.6], [1.8, 2.0, 0.2], [-0.6, 0.2, 1.0]]])
    low, high = np.array([-2.0, -np.inf, -1.0]), np.array([3.0, 0.5, np.inf])
    rng = np.random.default_rng(4)
    drawn = rng.multivariate_normal(mean[0], covariance[0], 400_000)
    wanted = ((drawn >= low) & (drawn <= high)).all(axis=1).mean()
    assert chance_within(mean, covariance, low, high)[0] == pytest.approx(wanted, abs=3e-3)


@pytest.mark.parametrize(
    ("line", "faults"),
    [
        (TargetLine("a", 0.0, 0.1, 0.0), 0),
        (TargetLine("a", 100.0, 200.0), 0),
        (TargetLine("a", -0.1, 1.0), 1),
        (TargetLine("a", 100.1, 1.0), 1),
        (TargetLine("a", 5.0, 0.0), 1),
        (TargetLine("a", 5.0, float("inf")), 1),
        (TargetLine("a", 5.0, 1.0, -0.1), 1),
        (TargetLine("a", 5.0, 1.0, float("nan")), 1),
    ],
)
def test_a_line_of_a_target_at_its_ends(line: TargetLine, faults: int) -> None:
    if not faults:
        Target("T", (line, SMOKE))
        return
    with pytest.raises(TargetError, match="a: the "):
        Target("T", (line, SMOKE))


def candidates_of(estimate: list[list[float]], common: float) -> Candidates:
    shape = (len(estimate), len(estimate[0]))
    own = np.tile(np.eye(shape[1]), (shape[0], 1, 1))
    about = pd.DataFrame({"cask": [f"C{i}" for i in range(shape[0])]})
    se = np.full(shape, np.sqrt(1.0 + common))
    shared = np.full(shape[1], common)
    return Candidates(about, np.array(estimate), se, own, shared, np.full(shape[0], 9))


FIRST = CaskMatch("C1", None, "C1", 0.5, 1.0, "smoke", 0.0, 9, None)
SECOND_FIRST = np.array([1, 0])


def test_who_is_surely_further_off() -> None:
    """Two casks a standard deviation of their difference apart are told apart 84 times in 100."""
    target = Target("T", (TargetLine("smoke", 0.0, 5.0),))
    for apart, told in ((1.0, 0), (1.5, 1)):  # 93 in 100 at one and a half
        away = 20.0 + apart * np.sqrt(2.0)
        both = candidates_of([[away], [20.0]], 0.0)
        found = sureness(both, target, SECOND_FIRST, FIRST, 4000, 1)
        assert found.n_distinguishable == told
        assert found.alike == (() if told else ("C0",))
        assert found.best_is_best == pytest.approx(scipy.stats.norm.cdf(apart), abs=0.02)
        assert found.first_hold_best == 1.0
    both = candidates_of([[21.4], [20.0]], 400.0)
    common = sureness(both, target, SECOND_FIRST, FIRST, 4000, 1)
    assert common.best_is_best == pytest.approx(0.84, abs=0.03), "they err together"
    nobody = sureness(candidates_of([[20.0]], 0.0), target, SECOND_FIRST[:0], None, 10, 1)
    assert nobody == Sureness("T", 0, 0, None, 0.0, 0.0, 0.0, 0, "")


def test_errors_that_casks_share_are_told_apart_from_their_own() -> None:
    own = np.array([[[5.0, 1.0], [1.0, 3.0]]])
    held: Any = SimpleNamespace(
        samples=("x",), part=lambda *_: (None, own), shared=lambda _: np.array([2.0, 9.0])
    )
    profile = cast(Any, SimpleNamespace(posterior=held))
    se = np.array([[np.sqrt(5.0), np.sqrt(12.0)]])
    found, common = errors_of(profile, ["x"], ["smoke", "wax"], se)
    assert common.tolist() == [2.0, 9.0]
    # As given, with what is shared taken off; the notes keep how they go together.
    assert found[0].ravel().tolist() == pytest.approx([3.0, 2.0, 2.0, 3.0])
    unknown, none = errors_of(profile, ["y"], ["smoke", "wax"], se)
    assert unknown[0].ravel().tolist() == pytest.approx([5.0, 0.0, 0.0, 12.0])
    assert none.tolist() == [0.0, 0.0]


def test_how_far_off_on_the_aim_is_the_half_normal() -> None:
    """Exact on one line: mean ``s sqrt(2 / pi)``, variance ``s^2 (1 - 2 / pi)``."""
    target, sd, cut = Target("T", (SMOKE,)), 3.0, 4.0
    at, unsure = np.array([[40.0]]), np.array([[[sd**2]]])
    off, variance = moments_off(target, at, unsure)
    assert off[0] == pytest.approx(sd * np.sqrt(2.0 / np.pi))
    assert variance[0] == pytest.approx(sd**2 * (1.0 - 2.0 / np.pi))
    unit = scipy.stats.norm
    inside = 2.0 * unit.cdf(cut / sd) - 1.0
    nearer = cut * inside - 2.0 * sd * (unit.pdf(0.0) - unit.pdf(cut / sd))
    assert below_off(target, at, unsure, np.array([cut]))[0] == pytest.approx(nearer)


def test_how_far_off_on_two_lines_that_hang_together() -> None:
    """Against a plain simulation: the mean square is exact, the gamma near it."""
    target = Target("T", (SMOKE, TargetLine("wax", 30.0, 3.0, 2.0)))
    mean, covariance = np.array([[44.0, 28.0]]), np.array([[[16.0, 5.0], [5.0, 4.0]]])
    drawn = np.random.default_rng(3).multivariate_normal(mean[0], covariance[0], 100_000)
    simulated = points_off(target, drawn)
    off, variance = moments_off(target, mean, covariance)
    assert off[0] ** 2 + variance[0] == pytest.approx(np.mean(simulated**2), rel=0.01)
    assert off[0] == pytest.approx(simulated.mean(), rel=0.02)
    assert variance[0] == pytest.approx(simulated.var(), rel=0.1)


def test_beside_the_best_casks_it_does_not_ask_whether_nosing_pays() -> None:
    """What is to be done otherwise stays said."""
    for found in (replace(FOUND, n_distinguishable=6), replace(FOUND, best_is_best=0.4)):
        sentence, action = sure_sentence(found)
        assert "still pays" in action
        assert sure_beside_best(found) == sentence.replace(f": {action}", "")
    assert sure_beside_best(FOUND, ["wax"]) is None
    unlikely = replace(FOUND, best_probability=0.01)
    assert sure_beside_best(unlikely) is None
    assert sure_beside_best(replace(unlikely, n_distinguishable=6)) is None
    assert sure_beside_best(replace(FOUND, best=None)) is None
