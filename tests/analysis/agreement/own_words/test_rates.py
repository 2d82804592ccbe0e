"""How often chance passes for something shared."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.agreement.own_words.axes import shared_axes
from analysis.agreement.own_words.procrustes import procrustes_test
from analysis.agreement.own_words.rv import rv_with_others

RUNS = 300
SLACK = 3.0 * np.sqrt(0.05 * 0.95 / RUNS)


def tables(seed: int, shared: int) -> list[np.ndarray]:
    """Eight people, four words, six glasses, some directions in common; noise sd 1."""
    rng = np.random.default_rng(seed)
    common = rng.normal(size=(6, shared)) * 6.0
    return [common @ rng.normal(size=(shared, 4)) / 2.0 + rng.normal(size=(6, 4)) for _ in range(8)]


@pytest.mark.slow
@pytest.mark.parametrize("shared", [0, 1, 2])
def test_no_more_axes_than_are_shared(shared: int) -> None:
    """5 in 100 within three standard errors, whatever number is shared already."""
    found = [shared_axes(tables(s, shared), permutations=99, seed=s)[0] for s in range(RUNS)]
    assert np.mean(np.array(found) > shared) == pytest.approx(0.05, abs=SLACK)
    assert np.mean(np.array(found) >= shared) > 0.8


@pytest.mark.slow
def test_tests_of_chance_numbers() -> None:
    rv = [rv_with_others(tables(s, 0), permutations=99, seed=s)[0].p for s in range(RUNS)]
    turned = [procrustes_test(tables(s, 0), permutations=99, seed=s).p for s in range(RUNS)]
    assert np.mean(np.array(rv) <= 0.05) == pytest.approx(0.05, abs=SLACK)
    assert np.mean(np.array(turned) <= 0.05) == pytest.approx(0.05, abs=SLACK)
