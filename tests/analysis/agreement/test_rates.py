"""How often a panel that tells nothing apart is said to do so, and whether bounds hold."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import threadpoolctl

from analysis.agreement.indices.anova import two_way_mixed
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.indices.permute import permutation_p
from analysis.agreement.indices.reliability import panel_reliability
from analysis.agreement.one_session.figures import descriptor_figures
from analysis.agreement.settings import AgreementSettings

PEOPLE, SAMPLES, TIMES = 8, 6, 2
RUNS = 800


def null_layouts(ratio: float, runs: int, effect: float = 0.0) -> list[ScoreLayout]:
    """Panels in which samples differ by `effect` sds of a sample mean; noise sd 1."""
    rng = np.random.default_rng(20)
    i, j, _ = np.indices((PEOPLE, SAMPLES, TIMES)).reshape(3, -1)
    place = np.linspace(-1.0, 1.0, SAMPLES)
    place *= effect * np.sqrt((ratio + 1.0 / TIMES) / PEOPLE) / place.std()
    names = tuple(f"P{n}" for n in range(PEOPLE)), tuple(f"x{n}" for n in range(SAMPLES))
    found = []
    for _ in range(runs):
        opinion = rng.normal(0.0, np.sqrt(ratio), (PEOPLE, SAMPLES))
        y = rng.normal(0, 2, PEOPLE)[i] + opinion[i, j] + place[j] + rng.normal(0, 1, len(i))
        found.append(ScoreLayout(*names, i, j, y))
    return found


@pytest.mark.parametrize("ratio", [0.0, 0.15, 0.5])
def test_false_alarms_of_f_and_permutation(ratio: float) -> None:
    """5 % within Monte-Carlo error (three standard errors of 800 runs)."""
    layouts = null_layouts(ratio, RUNS)
    f = [anova.sample.p for anova in map(two_way_mixed, layouts) if anova.sample is not None]
    permuted = [permutation_p(layout, permutations=199, seed=n) for n, layout in enumerate(layouts)]
    slack = 3.0 * np.sqrt(0.05 * 0.95 / RUNS)
    assert np.mean(np.array(f) <= 0.05) == pytest.approx(0.05, abs=slack)
    assert np.mean(np.array(permuted) <= 0.05) == pytest.approx(0.05, abs=slack)


@pytest.mark.slow
@pytest.mark.parametrize("ratio", [0.0, 0.15])
def test_false_alarms_with_holes_stay_below_seven_in_a_hundred(ratio: float) -> None:
    """The F that verdicts lean on when a tenth of the glasses is missing: REML or cell means."""
    rng = np.random.default_rng(6)
    quick = AgreementSettings(permutations=1, bootstraps=2)
    found = []
    with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
        for layout in null_layouts(ratio, 500):
            holed = without(layout, rng.random(len(layout.score)) < 0.1)
            found.append(descriptor_figures(holed, quick, seed=1).effect.p)
    assert np.mean([p <= 0.05 for p in found if p is not None]) < 0.07


def without(layout: ScoreLayout, lost: np.ndarray) -> ScoreLayout:
    return replace(
        layout,
        assessor=layout.assessor[~lost],
        sample=layout.sample[~lost],
        score=layout.score[~lost],
    )


@pytest.mark.parametrize("effect", [1.5, 3.0])
def test_reliability_bounds_hold_about_four_times_in_five(effect: float) -> None:
    """Each bound is passed in about one run of ten.

    The true reliability is ``1 - 1 / (1 + e^2 n / (n - 1))`` with n samples.
    """
    layouts = null_layouts(0.15, 300, effect)
    true = 1.0 - 1.0 / (1.0 + effect**2 * SAMPLES / (SAMPLES - 1.0))
    below = above = 0
    for n, layout in enumerate(layouts):
        sample = two_way_mixed(layout).sample
        assert sample is not None
        bounds = panel_reliability(layout, sample.f, bootstraps=199, seed=n)
        below += true < bounds.low
        above += true > bounds.high
    assert below / len(layouts) < 0.2
    assert above / len(layouts) < 0.2


def test_permutation_leaves_holes_where_they_are() -> None:
    layout = null_layouts(0.15, 1)[0]
    lost = np.zeros(len(layout.score), bool)
    lost[[0, 1, 30, 31, 40]] = True
    holed = without(layout, lost)
    assert holed.replicates is None
    p = permutation_p(holed, permutations=199)
    assert p is not None
    assert 0.0 < p <= 1.0
