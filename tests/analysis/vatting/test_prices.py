"""Which limits are searched without."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from analysis.vatting import LimitKind, prices
from tests.analysis.vatting.test_rows_by_hand import (
    THREE,
    task_of,
)


def test_every_limit_but_the_quantity_is_searched_without(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(prices, "tighten", lambda _task, **asked: asked["lifted"])
    found = prices.search_without(task_of(replace(THREE, casks_max=3)))
    assert {each.key.kind for each in found} == {
        *(LimitKind.EXCESS, LimitKind.STRENGTH, LimitKind.CASKS_MAX, LimitKind.WHOLE)
    }
    lifted: list[Any] = [each.tightened for each in found]
    assert lifted == [{each.key} for each in found]
