"""How far casks are off a target, beside normals that are drawn by plain numpy."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest
from scipy import special, stats

from analysis.errors import FrameError
from analysis.target import Target, TargetLine
from analysis.target.candidates import Candidates, current_draws, errors_of
from analysis.target.chance import _primes
from analysis.target.match import _order, _told
from analysis.target.nearest import sureness
from analysis.target.nosed import NosedLine, SampleNosed
from analysis.target.off import _lost, below_off, draws_off, moments_off, points_off

ONE = Target("One", (TargetLine("smoke", 50, 5),))
TWO = Target("Two", (TargetLine("smoke", 50, 5, 3), TargetLine("plum", 40, 10, 1)))
AT = np.array([[53.0, 30.0], [48.0, 55.0]])
SPREAD = np.array([[[16.0, 6.0], [6.0, 25.0]], [[4.0, -1.0], [-1.0, 9.0]]])

OUT = {"smoke": True, "plum": False}


def normals(n: int = 200_000) -> np.ndarray[Any, Any]:
    rng = np.random.default_rng(8)
    return np.stack(
        [rng.multivariate_normal(mean, spread, n) for mean, spread in zip(AT, SPREAD, strict=True)],
        axis=1,
    )


def test_a_distance_is_the_weighted_root_mean_square_in_points() -> None:
    """One tolerance off on both lines is one off in all: the root of 1 / (.75/25 + .25/100)."""
    a_tolerance = 1.0 / np.sqrt(0.75 / 25.0 + 0.25 / 100.0)
    assert points_off(TWO, np.array([[55.0, 50.0]])) == pytest.approx([a_tolerance])
    assert points_off(TWO, np.array([[50.0, 60.0]])) == pytest.approx([a_tolerance])
    assert points_off(ONE, np.array([[42.0], [120.0]])) == pytest.approx([8.0, 50.0])


def test_moments_are_those_of_drawn_normals() -> None:
    off = points_off(TWO, normals())
    mean, variance = moments_off(TWO, AT, SPREAD)
    assert mean == pytest.approx(off.mean(axis=0), rel=0.02)
    assert variance == pytest.approx(off.var(axis=0), rel=0.15)  # a gamma's, not exact


def test_draws_have_the_moments_by_how_much_the_spread_counts() -> None:
    rng = np.random.default_rng(4)
    times = np.repeat(np.array([[1.0, 4.0], [4.0, 0.25]]), 40_000, axis=0)
    drawn = draws_off(TWO, AT, SPREAD, times, rng)
    for cask, factors in enumerate(((1.0, 4.0), (4.0, 0.25))):
        for half, factor in zip((slice(0, 40_000), slice(40_000, None)), factors, strict=True):
            mean, variance = moments_off(TWO, AT, factor * SPREAD)
            assert drawn[half, cask].mean() == pytest.approx(mean[cask], rel=0.02)
            assert drawn[half, cask].var() == pytest.approx(variance[cask], rel=0.06)


def test_what_may_be_gained_below_a_cut_is_that_of_drawn_normals() -> None:
    off = points_off(TWO, normals())
    for cut in (3.0, 6.0, 12.0):
        expected = np.maximum(cut - off, 0.0).mean(axis=0)
        assert below_off(TWO, AT, SPREAD, np.full(2, cut)) == pytest.approx(expected, abs=0.12)
    on_aim = below_off(ONE, np.array([[50.0]]), np.array([[[9.0]]]), np.array([3.0]))
    exact = stats.halfnorm(scale=3.0).expect(lambda x: max(3.0 - x, 0.0), lb=0.0, ub=3.0)
    assert on_aim == pytest.approx([exact], rel=1e-6)


def candidates(estimate: list[float], se: float, names: list[str], common: float = 0.0) -> Any:
    n = len(names)
    about = pd.DataFrame({"cask": names, "sample": names, "filling": names})
    about["last_nosed"] = pd.NaT
    values = np.array(estimate)[:, None]
    own = np.full((n, 1, 1), se**2 - common)
    errors = np.full((n, 1), se)
    return Candidates(about, values, errors, own, np.array([common]), np.full(n, 4))


def test_equals_come_by_distance_and_then_by_name() -> None:
    free = Target("Free", (TargetLine("smoke", 50, 60),))  # within tolerance wherever it lies
    order, distance = _order(candidates([60.0, 50.0, 50.0], 3.0, ["a", "c", "b"]), free)
    assert order.tolist() == [2, 1, 0]
    assert distance == pytest.approx(np.array([109.0, 9.0, 9.0]) / 3600.0)
    (first,) = _told(candidates([44.0], 3.0, ["a"]), ONE, np.array([0]), np.array([1.8]))
    chance = stats.norm(44.0, 3.0).cdf(55.0) - stats.norm(44.0, 3.0).cdf(45.0)
    assert first.probability == pytest.approx(chance)
    assert (first.worst_descriptor, first.worst_off, first.n_scores) == ("smoke", -1.2, 4)
    assert (first.distance, first.last_nosed) == (1.8, None)


def test_how_sure_a_list_of_two_is() -> None:
    """Two casks 3 points off and 6 off, errors of 3 each: the chance by 400,000 drawn pairs."""
    two = candidates([53.0, 56.0], 3.0, ["a", "b"])
    first = cast(Any, SimpleNamespace(cask="a", probability=0.7, worst_descriptor="smoke"))
    found = sureness(two, ONE, np.array([0, 1]), first, 4000, 1)
    rng = np.random.default_rng(2)
    drawn = np.abs(np.array([3.0, 6.0]) + rng.normal(0.0, 3.0, (400_000, 2)))
    expected = (drawn[:, 0] < drawn[:, 1]).mean()
    assert found.best_is_best == pytest.approx(expected, abs=0.02)
    assert (found.n_first, found.n_ranked, found.first_hold_best) == (2, 2, 1.0)
    assert (found.n_distinguishable, found.alike) == (0, ("b",))
    # What both share moves both alike: with hardly any error of their own they are told apart.
    shared = candidates([53.0, 59.0], 3.0, ["a", "b"], common=8.99)
    found = sureness(
        shared, Target("Low", (TargetLine("smoke", 20, 5),)), np.array([0, 1]), first, 4000, 1
    )
    assert (found.n_distinguishable, found.alike, found.best_is_best) == (1, (), 1.0)
    none = sureness(two, ONE, np.array([0, 1]), None, 4000, 1)
    assert (none.best, none.n_ranked, none.n_first) == (None, 0, 0)


def test_errors_keep_their_size_and_share_no_more_than_they_have() -> None:
    se = np.array([[2.0, 3.0], [4.0, 1.0]])
    alone: Any = SimpleNamespace(posterior=None)
    own, common = errors_of(alone, ["x", "y"], ["smoke", "plum"], se)
    assert [np.diag(one).tolist() for one in own] == [[4.0, 9.0], [16.0, 1.0]]
    assert common.tolist() == [0.0, 0.0]
    whole = np.array([[[1.0, 0.5], [0.5, 1.0]]] * 2)
    held = SimpleNamespace(samples=("x", "y"), shared=lambda _names: np.array([1.0, 5.0]))
    vars(held)["part"] = lambda _samples, _names: (None, whole)
    own, common = errors_of(cast(Any, SimpleNamespace(posterior=held)), ["x", "y"], ["s", "p"], se)
    assert common.tolist() == [1.0, 0.99]  # 0.99 of the least variance there is
    assert own[0] == pytest.approx(np.array([[4.0 - 1.0, 3.0], [3.0, 9.0 - 0.99]]))
    assert own[1] == pytest.approx(np.array([[16.0 - 1.0, 2.0], [2.0, 1.0 - 0.99]]))
    lacking = errors_of(cast(Any, SimpleNamespace(posterior=held)), ["x", "z"], ["s", "p"], se)
    assert lacking[1].tolist() == [0.0, 0.0]


def test_a_filling_that_is_gone_is_left_out_by_what_is_in_the_cask_now() -> None:
    rows = pd.DataFrame(
        {"sample": ["x1", "y1"], "cask": ["x", "y"], "filling": ["x/1", "y/1"]}
    ).assign(last_nosed=None, drawn_on=pd.Timestamp("2025-01-01"))
    casks = pd.DataFrame({"cask": ["x"], "filling": ["x/2"]})
    current, left_out = current_draws(rows, casks)
    assert current.empty
    said = {part.cask: part.reason.rpartition(": ")[2] for part in left_out}
    assert said == {"x": "draw it again", "y": "the cask is empty"}
    assert len(current_draws(rows, None)[0]) == 2


def test_steps_of_the_lattice_are_the_roots_of_primes() -> None:
    assert _primes(5).tolist() == [2.0, 3.0, 5.0, 7.0, 11.0]


def test_the_lines_that_a_sample_is_out_on_are_told() -> None:
    told = [NosedLine(name, 40.0, 6.0, 50.0, 1.0, 0.1, is_out=out) for name, out in OUT.items()]
    assert [line.descriptor for line in SampleNosed("x", tuple(told), 0.1, None).out] == ["smoke"]
    with pytest.raises(FrameError, match="Missing columns: filling"):
        current_draws(pd.DataFrame({"sample": ["x"]}), pd.DataFrame({"cask": ["x"]}))


@pytest.mark.parametrize("shape", [0.5, 3.0, 999.0, 1001.0, 5000.0])
def test_how_much_of_a_gamma_its_root_loses_in_the_mean(shape: float) -> None:
    """``1 - (G(k + 1/2) / G(k))^2 / k``, on both sides of where a series stands for it."""
    root = np.exp(special.gammaln(shape + 0.5) - special.gammaln(shape))
    assert _lost(np.array([shape])) == pytest.approx([1.0 - root**2 / shape], rel=1e-6)
