"""What old draws of parts move in a mixture, beside differences."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from analysis.vatting import MixingRule, old_draws
from analysis.vatting.task import make_task
from tests.analysis.vatting.test_rows_by_hand import (
    LITRES,
    TARGET,
    plain,
)


@pytest.mark.parametrize(
    ("exponent", "estimate"), [(1.0, (20.0, 50.0)), (0.5, (20.0, 50.0)), (0.5, (0.0, 50.0))]
)
def test_what_a_point_of_a_part_moves_the_mixture(
    monkeypatch: pytest.MonkeyPatch, exponent: float, estimate: tuple[float, float]
) -> None:
    """By differences of ``gain (sum share score^(1/n))^n``; below a point a score counts as one."""
    stock = plain(2, years_moved=[4.0, 2.0])
    stock.estimate[:] = np.array(estimate)[:, None]
    stock = replace(stock, added_sd=np.full((2, 2), 2.0), grown=np.full((2, 2), 3.0))
    rule = MixingRule(dict.fromkeys(("smoke", "plum"), exponent), dict.fromkeys(("plum",), 1.5))
    task = make_task(stock, TARGET, LITRES, rule)
    told: list[Any] = []
    monkeypatch.setattr(old_draws, "deciding", lambda *given: told.append(given))
    lines = tuple(SimpleNamespace(estimate=30.0, sd=sd) for sd in (0.5, 9.0))
    expected: Any = SimpleNamespace(lines=lines)
    old_draws.deciding_draws(task, np.arange(2), np.array([75.0, 25.0]), expected)
    at, variance, grown, added, years, _ = told[0]

    def mixed(first: float, second: float) -> float:
        return float((0.75 * first ** (1 / exponent) + 0.25 * second ** (1 / exponent)) ** exponent)

    a, b = np.maximum(estimate, 1.0)
    slope = np.array(
        [
            (mixed(a + 1e-4, b) - mixed(a - 1e-4, b)) / 2e-4,
            (mixed(a, b + 1e-4) - mixed(a, b - 1e-4)) / 2e-4,
        ]
    )
    assert grown == pytest.approx(3.0 * np.outer(slope, [1.0, 1.5]), rel=1e-5)
    assert added == pytest.approx((2.0 * np.outer(slope, [1.0, 1.5])) ** 2, rel=1e-5)
    assert variance == pytest.approx(np.maximum([0.25, 81.0], added))
    assert (at.tolist(), years.tolist()) == ([[30.0, 30.0]] * 2, [4.0, 2.0])
