"""The lower bound that is asked for a safe note, redrawn here panel by panel."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats

from analysis.agreement.indices.anova import two_way_mixed
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.indices.reliability import panel_reliability

N_ASSESSORS, N_SAMPLES, PANELS = 5, 7, 399


def _table() -> np.ndarray:
    """Five assessors of seven samples, with offsets and some disagreement."""
    rng = np.random.default_rng(7)
    samples = np.linspace(20.0, 60.0, N_SAMPLES)
    offsets = rng.normal(0.0, 8.0, (N_ASSESSORS, 1))
    found: np.ndarray = samples + offsets + rng.normal(0.0, 10.0, (N_ASSESSORS, N_SAMPLES))
    return found


def _squares(table: np.ndarray) -> tuple[float, float]:
    """Mean squares of samples and of what is left, of rows with offsets taken out."""
    level = table - table.mean(axis=1, keepdims=True)
    means = level.mean(axis=0)
    between = N_ASSESSORS * np.sum(means**2) / (N_SAMPLES - 1)
    within = np.sum((level - means) ** 2) / ((N_ASSESSORS - 1) * (N_SAMPLES - 1))
    return float(between), float(within)


def test_bounds_of_redrawn_panels() -> None:
    """Drawing with replacement adds one mean square within and takes 1/I of it away.

    The lower bound lies at Phi(sqrt(I / (I - 1)) t(.1, I - 1)) (Hesterberg 2015), the upper at .9.
    """
    table = _table()
    layout = ScoreLayout(
        tuple("ABCDE"),
        tuple("pqrstuv"),
        np.repeat(np.arange(N_ASSESSORS), N_SAMPLES),
        np.tile(np.arange(N_SAMPLES), N_ASSESSORS),
        table.ravel(),
    )
    sample = two_way_mixed(layout).sample
    assert sample is not None
    rng = np.random.default_rng(1)
    values = []
    for times in rng.multinomial(N_ASSESSORS, np.full(N_ASSESSORS, 1.0 / N_ASSESSORS), size=PANELS):
        between, within = _squares(np.repeat(table, times, axis=0))
        ratio = (between - within) / (within * N_ASSESSORS / (N_ASSESSORS - 1)) if within else 0.0
        values.append(1.0 - 1.0 / ratio if ratio > 0.0 else -np.inf if within else 1.0)
    t = scipy.stats.t.ppf(0.1, N_ASSESSORS - 1)
    at = scipy.stats.norm.cdf(np.sqrt(N_ASSESSORS / (N_ASSESSORS - 1)) * t)
    low, high = np.quantile(values, [at, 0.9], method="nearest")
    found = panel_reliability(layout, sample.f, bootstraps=PANELS)
    assert found.value == pytest.approx(1.0 - 1.0 / sample.f)
    assert found.low == pytest.approx(low)
    assert found.high == pytest.approx(high)
    assert found.low < found.value < found.high
