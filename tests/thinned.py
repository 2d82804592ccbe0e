"""Cases of a test, of which the gate tries some and the wide one all."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from _pytest.mark.structures import ParameterSet


def some(cases: Iterable[object], every: int) -> list[ParameterSet]:
    """Return all cases; one in so many is no `slow` one."""
    return some_rows(((case,) for case in cases), every)


def some_rows(rows: Iterable[Iterable[object]], every: int) -> list[ParameterSet]:
    """Return all cases that have several values; one in so many is no `slow` one."""
    return [
        pytest.param(*row, marks=() if at % every == 0 else pytest.mark.slow)
        for at, row in enumerate(rows)
    ]
