"""Which line stops a target."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from analysis.vatting import MixingRule
from analysis.vatting import reach as reaching
from analysis.vatting.reach import _stopping
from analysis.vatting.task import make_task
from tests.analysis.vatting.test_rows_by_hand import (
    LITRES,
    model_of,
    plain,
)
from tests.houses.stocks import target_of


def test_the_line_that_stops_a_target_is_that_without_which_the_rest_comes_nearest(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    notes = {"smoke": 36.0, "plum": 34.0}
    task = make_task(plain(), target_of(notes, 6.0), LITRES, MixingRule())
    model = replace(
        model_of(LITRES),
        soft=np.array([[1.0, 0, 0, 0], [0, 3.0, 0, 0], [0, 0, 0, 0.5]]),
        soft_line=np.array([0, 1, 1]),
        soft_weight=np.ones(3),
    )
    ones = np.ones(4)
    monkeypatch.setattr(reaching, "solve_relaxed", lambda _model: SimpleNamespace(fractions=ones))
    # Without smoke 3.5 points are missed, without plum 1.
    assert _stopping(task, model, np.array([1.0, 3.0, 0.5])) == "plum"
    assert _stopping(task, model, np.array([1.0, 0.0, 1e-7])) == "smoke", "plum is not missed"
