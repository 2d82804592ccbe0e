"""Which cask stands in for one that failed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.vatting import stand_ins
from analysis.vatting.chance import Stream
from tests.analysis.vatting.test_rows_by_hand import (
    LITRES,
    model_of,
    plain,
    task_of,
)


def test_a_stand_in_lies_nearest_and_of_two_as_near_costs_less() -> None:
    stock = plain(5)
    stock.estimate[:] = [[36.0, 34.0], [36.0, 34.0], [50.0, 34.0], [36.0, 34.0], [90.0, 90.0]]
    model = model_of(replace(LITRES, litres=236.0), stock)
    model = replace(model, cost=np.array([0.0, 3e-4, 0.0, 1e-4, 0.0]))
    rest = np.array([1.0, 0.0, 0.0, 0.0, 0.0])
    found = stand_ins.nearest_fitting(model, rest, np.ones(5), 2)
    assert found.tolist()[:2] == [3, 1]
    assert {0, 2}.isdisjoint(found.tolist()), "one is in, one failed"


def test_the_surest_of_the_nearest_stands_in(monkeypatch: pytest.MonkeyPatch) -> None:
    def chance(_task: object, _model: object, fractions: Any, stream: Stream) -> float:
        at = int(np.flatnonzero(fractions)[-1])
        return (0.1 * at if at < 3 else 0.05) + (0.01 if stream is Stream.TOLD else 0.0)

    monkeypatch.setattr(stand_ins, "_chance", chance)
    limits = replace(LITRES, litres=118.0)
    task, model = task_of(limits), model_of(limits)
    found = stand_ins._stand_in(task, model, np.array([1.0, 0.0, 0.0, 0.0]), 0)
    assert (found.failed, found.cask, found.litres) == ("C000", "C002", 100.0)
    assert found.probability == pytest.approx(0.21)
    assert not found.foretold
