"""A profile at the ends of the line, what it believes beforehand, and how often it is right."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest
import scipy.stats

from analysis.profile import ProfileSettings, estimate_profile
from analysis.profile.bins import levels_of, rough_level
from analysis.profile.ends import Ends, step_of
from analysis.profile.lines import Straight, one_sided, two_sided
from analysis.profile.noises import Residuals, _level_noise, _spread, better_noise, mixed
from analysis.profile.pace import Pace
from analysis.profile.parameters import Levels, Parameters, _noises, _scales
from analysis.profile.people import KINDS, kinds_of_scale
from analysis.profile.priors import Nested
from tests.houses.panels import Panel


@pytest.mark.parametrize(
    ("z", "low", "high"),
    # Two-sided 9 in 10 is 1.645 sd; where that crosses an end, one-sided: 1.2816 sd.
    [
        (50.0, 50.0 - 1.645 * 4, 50.0 + 1.645 * 4),
        (6.59, 0.01, 13.17),
        (6.57, 0.0, 6.57 + 1.2816 * 4),
        (93.41, 93.41 - 1.645 * 4, 99.99),
        (93.43, 93.43 - 1.2816 * 4, 100.0),
        (-20.0, 0.0, 0.0),
        (120.0, 100.0, 100.0),
    ],
)
def test_a_band_at_the_ends_of_the_line(z: float, low: float, high: float) -> None:
    found = Straight().band(np.array([z]), np.array([4.0]), 0.9)
    assert (found[0][0], found[1][0]) == pytest.approx((low, high), abs=0.01)


@pytest.mark.parametrize("level", [0.5, 0.8, 0.95])
def test_how_far_a_band_reaches(level: float) -> None:
    normal = scipy.stats.norm()
    assert normal.cdf(two_sided(level)) - normal.cdf(-two_sided(level)) == pytest.approx(level)
    assert normal.cdf(one_sided(level)) == pytest.approx(level)
    z, sd = np.array([5.0]), np.array([2.0])
    assert Straight().moments(z, sd) == (z, sd)


def test_what_is_believed_of_scales_before_any_score() -> None:
    """Shares times normal densities, each as wide as what is believed and what is known."""
    assert KINDS[:, 0].tolist() == [0.93, 0.05, 0.02]
    weighted, information = np.array([9.0, 1.0, -8.0, 0.0]), np.array([10.0, 10.0, 8.0, 0.0])
    found = kinds_of_scale(weighted, information)
    for row, (w, n) in enumerate(zip(weighted, information, strict=True)):
        told = np.ones(3)
        if n > 0.0:
            normals = [scipy.stats.norm(m, np.sqrt(sd**2 + 1.0 / n)) for _, m, sd in KINDS]
            told = np.array([normal.pdf(w / n) for normal in normals])
        shares = KINDS[:, 0] * told
        assert found[row] == pytest.approx(shares / shares.sum())


@pytest.mark.parametrize(("inner", "outer"), [(2.0, 3.0), (2.0, 0.0), (0.0, 3.0)])
def test_effects_in_groups_against_dense_algebra(inner: float, outer: float) -> None:
    group = np.array([0, 0, 0, 1, 1, 2], dtype=np.intp)
    same = (group[:, None] == group[None, :]).astype(float)
    covariance = inner * np.eye(6) + outer * same
    found = Nested.of(inner, outer, group)
    root = found.root(np.eye(6))
    assert root @ root.T == pytest.approx(covariance)
    assert found.root(np.arange(6.0)) == pytest.approx(root @ np.arange(6.0))
    assert found.diagonal == pytest.approx(inner + outer)
    assert found.totals(np.arange(6.0)).tolist() == [3.0, 7.0, 5.0]
    if inner == 0.0:
        return
    inverse = np.linalg.inv(covariance)
    turned = found.inverse_root(np.eye(6))
    assert turned.T @ turned == pytest.approx(inverse)
    assert found.inverse_diagonal == pytest.approx(np.diag(inverse))
    assert found.inverse_sum == pytest.approx((inverse * same).sum())
    centre = np.eye(6) - 1.0 / 6.0
    information = np.array([1.0, 2.0, 4.0, 3.0, 0.5, 5.0])
    dense = centre @ np.diag(information) @ centre
    own, within = found.centred(information)
    assert own == pytest.approx(np.diag(dense))
    assert within == pytest.approx((dense * same).sum())


def test_noises_of_few_scores_are_drawn_towards_that_of_all() -> None:
    totals, n = np.array([40.0, 400.0]), np.array([10.0, 20.0])
    assert mixed(totals, n, 0.0) == pytest.approx(totals / n)
    of_all = 440.0 / 30.0
    assert mixed(totals, n, 8.0) == pytest.approx(
        [(40.0 + 8.0 * of_all) / 18.0, (400.0 + 8.0 * of_all) / 28.0]
    )


def residuals(**more: Any) -> Residuals:
    rng = np.random.default_rng(2)
    left = rng.normal(0.0, 2.0, 12)
    given: dict[str, Any] = {
        "assessor": np.repeat([0, 1, 2], 4).astype(np.intp),
        "n_assessors": 3,
        "left": left,
        "raw_left": left * 1.2,
        "weight": None,
        "uncertain": np.full(12, 0.3),
        "level_factor": np.tile([0.5, 2.0], 6),
        "squares": 4.0,
    }
    return Residuals(**{**given, **more})


class Now:
    """What a step begins with."""

    noise = np.array([0.8, 1.0, 1.25])
    spread = np.array([1.0, 2.0, 3.0])


def test_one_step_of_the_noises_by_hand() -> None:
    found, worth = residuals(), 8.0
    got = better_noise(found, Now(), ProfileSettings(), Levels.none(12))  # type: ignore[arg-type]
    totals, n = np.zeros(3), np.zeros(3)
    for i, j in enumerate(found.assessor):
        factor = found.level_factor[i]
        totals[j] += found.left[i] ** 2 / factor + 0.1 * 0.3 / factor
        n[j] += 1.0 - 0.9 * 0.3 / factor / (4.0 * Now.noise[j])
    noise = (totals + worth * totals.sum() / n.sum()) / (n + worth)
    typical = np.exp(np.log(noise).mean())
    assert got.noise == pytest.approx(noise / typical)
    assert got.spread.tolist() == [1.0, 2.0, 3.0]
    assert got.level_noise.tolist() == [1.0]
    equal = ProfileSettings(equal_noise=True)
    same = better_noise(found, Now(), equal, Levels.none(12))  # type: ignore[arg-type]
    assert same.noise.tolist() == Now.noise.tolist()
    assert same.spread.tolist() == [2.0, 2.0, 2.0]


def test_spread_of_ordinary_scores_by_hand() -> None:
    weight = np.linspace(0.2, 1.0, 12)
    found = residuals(weight=weight)
    squared = (found.raw_left**2 + 0.3) / found.level_factor
    above = [
        sum(weight[i] * squared[i] for i in range(12) if found.assessor[i] == j) for j in range(3)
    ]
    n = [sum(weight[i] for i in range(12) if found.assessor[i] == j) for j in range(3)]
    wanted = mixed(np.array(above), np.array(n), 8.0)
    assert _spread(found, weight, 8.0) == pytest.approx(wanted)
    slips = replace(found, raw_left=np.where(np.arange(12) % 4 == 0, 60.0, 0.1))
    little = np.where(np.arange(12) % 4 == 0, 1e-6, 1.0)
    squared = (slips.raw_left**2 + 0.3) / slips.level_factor
    raw = mixed(slips.by_assessor(squared), np.full(3, 4.0), 8.0)
    assert _spread(slips, little, 8.0) == pytest.approx(0.2 * raw)


def test_noise_of_a_level_by_hand() -> None:
    code = np.array([0] * 50 + [1] * 60, dtype=np.intp)
    levels = Levels.cut(code.astype(float), np.array([0.5]))
    squared = np.where(code == 0, 2.0, 0.5)
    factor = np.array([(100.0 + 30.0) / 80.0, (30.0 + 30.0) / 90.0])
    typical = np.exp(np.average(np.log(factor), weights=[50, 60]))
    assert _level_noise(levels, squared) == pytest.approx(factor / typical)
    far = np.clip([(50.0 * 1e3 + 30.0) / 80.0, 30.0 / 90.0], 1.0 / 9.0, 9.0)
    typical = np.exp(np.average(np.log(far), weights=[50, 60]))
    found = _level_noise(levels, np.where(code == 0, 1e3, 0.0))
    assert found == pytest.approx(far / typical)


def test_the_warm_up_glass_is_no_part_of_it() -> None:
    scores = Panel(n_samples=18).scores()
    warm = scores[scores["sample"] == "ref"].assign(sample="warm", kind="warm_up", score=99.0)
    found, without = (
        estimate_profile(frame).estimates for frame in (pd.concat([scores, warm]), scores)
    )
    assert "warm" not in set(found["sample"])
    assert found["estimate"].tolist() == without["estimate"].tolist()
    assert found["se"].tolist() == without["se"].tolist()


def test_noise_and_offset_are_covered_as_often_as_is_said() -> None:
    """Six people in ten houses; noises not far apart, for each is drawn towards that of all."""
    panel = Panel(noises=(5.0, 6.0, 5.5, 6.5, 5.0, 6.0), n_samples=24, visits=2)
    noises, offsets = np.array(panel.noises), np.array([-4.0, 0.0, 4.0] * 2)
    within, error, claimed = [], [], []
    for seed in range(10):
        people = estimate_profile(panel.scores(seed)).assessors
        low, high = people["noise_low"].to_numpy(), people["noise_high"].to_numpy()
        within += ((low < noises) & (noises < high)).tolist()
        error += (people["offset"].to_numpy(dtype=float) - offsets).tolist()
        claimed += people["offset_se"].to_numpy(dtype=float).tolist()
    off = np.array(error) / np.array(claimed)
    assert 0.87 <= np.mean(within) <= 0.99
    assert 0.75 <= np.sqrt(np.mean(off**2)) <= 1.3


@pytest.mark.parametrize(
    ("counts", "wanted", "bins"),
    # Forty glasses a bin at least, and forty for each bin that is wanted.
    [((40, 40), 2, 2), ((39, 41), 2, 1), ((70, 30), 2, 1), ((40, 39), 2, 1), ((60, 60), 1, 1)],
)
def test_a_bin_of_the_level_has_glasses_enough(
    counts: tuple[int, int], wanted: int, bins: int
) -> None:
    sample = np.repeat([0, 1], counts).astype(np.intp)
    block = (np.arange(len(sample)) % 2).astype(np.intp)
    glasses = SimpleNamespace(sample=sample, n_samples=2)
    layout = SimpleNamespace(block=block, n_blocks=2, glasses=glasses)
    settings = ProfileSettings(noise_levels=wanted)
    problem: Any = SimpleNamespace(layout=layout, y=20.0 * sample + block, ends=None)
    problem.settings = settings
    assert levels_of(problem).count == bins
    at_the_ends: Any = SimpleNamespace(**{**vars(problem), "ends": object()})
    assert levels_of(at_the_ends).count == 1
    equal: Any = SimpleNamespace(**{**vars(problem), "settings": ProfileSettings(equal_noise=True)})
    assert levels_of(equal).count == 1
    level = rough_level(problem)
    assert level[1] - level[0] == pytest.approx(20.0, abs=0.3)


def guess(ratio: float, scale: float = 1.0) -> Parameters:
    none = np.ones(1)
    return Parameters({"sample": ratio}, 1.0, np.array([scale]), none, none, np.zeros(0), none)


def test_a_fit_that_creeps_goes_where_it_would_end() -> None:
    """Each step nine tenths of the last: at the third, ten times as far, but .3 of a scale."""
    pace, now = Pace(), guess(1.0)
    for step in (0.01, 0.009):
        moved = pace.of(now, guess(1.0, now.scale[0] + step))
        assert moved.scale[0] - now.scale[0] == pytest.approx(step)
        now = moved
    long = pace.of(now, guess(1.0, now.scale[0] + 0.0081))
    assert long.scale[0] - now.scale[0] == pytest.approx(8.0 * 0.0081)  # eight times at most
    after = pace.of(long, guess(1.0, long.scale[0] + 0.00729))
    assert after.scale[0] - long.scale[0] == pytest.approx(0.00729)


def test_a_ratio_that_turns_back_goes_half_as_far() -> None:
    pace, now = Pace(), guess(1.0)
    first = pace.of(now, guess(1.5))
    assert first.ratios["sample"] == pytest.approx(1.5)
    back = pace.of(first, guess(1.0))
    assert back.ratios["sample"] == pytest.approx(1.25)
    far_down = Pace().of(guess(1.0), guess(0.01))
    assert far_down.ratios["sample"] == pytest.approx(0.01)


def test_where_a_fit_begins_with_scales_and_noises_by_hand() -> None:
    """Slopes of .5 and 1.5 on their mean of one, seven tenths of the way; noises about one."""
    who = np.array([0, 0, 1, 1, 1], dtype=np.intp)

    def by_assessor(values: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
        return np.bincount(who, values, minlength=2)

    problem: Any = SimpleNamespace(
        by_assessor=by_assessor, panel=np.array([0, 1]), settings=ProfileSettings()
    )
    heard = np.array([2.0, -2.0, 1.0, -1.0, 2.0])
    above = np.where(who == 0, 0.5, 1.5) * heard
    assert _scales(problem, above, heard) == pytest.approx([0.65, 1.35])
    assert _scales(problem, 3.0 * above, heard) == pytest.approx([0.65, 1.35])
    problem.panel = np.array([1])
    assert _scales(problem, above, heard) == pytest.approx([1.0 - 0.7 * 2.0 / 3.0, 1.0])
    left = np.array([1.0, 3.0, 2.0, 2.0, 4.0])
    weight, squares = problem.settings.noise_weight, by_assessor(left**2)
    drawn = (squares + weight * np.mean(left**2)) / (np.array([2.0, 3.0]) + weight)
    found = _noises(problem, left)
    assert found[1] / found[0] == pytest.approx(drawn[1] / drawn[0])
    assert 2.0 * np.log(found[0]) + 3.0 * np.log(found[1]) == pytest.approx(0.0, abs=1e-12)
    assert _noises(problem, np.zeros(5)).tolist() == [1.0, 1.0]


def test_a_score_at_an_end_is_read_from_half_a_step_on() -> None:
    y = np.array([0.0, 100.0, 30.0, 0.0, 34.0, 100.0])
    found = Ends.of(y, np.array([0, 0, 0, 1, 1, 1], dtype=np.intp))
    assert found.step == pytest.approx(step_of(y))
    assert found.rows.tolist() == [0, 1, 3, 5]
    assert found.sign.tolist() == [1.0, -1.0, 1.0, -1.0]
    assert found.cut[[1, 3]] == pytest.approx(100.0 - 0.5 * found.step)
    assert found.cut[[0, 2]] == pytest.approx(found.written)
    assert found.within.tolist() == [False, False, True, False, True, False]


def test_a_pace_begins_with_nothing_known() -> None:
    pace = Pace()
    assert (pace.last, pace.waits()) == (1.0, False)
    pace._leapt = True
    assert (pace.waits(), pace._leapt) == (False, False)
    careful = Pace(careful=True)
    careful._leapt = True
    assert (careful.waits(), careful.waits()) == (True, False)
