"""Steps of the search for a vatting on four casks, reckoned by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.vatting.dive import Drawn, exchange, keeps_limits
from analysis.vatting.eligible import is_whole
from analysis.vatting.integer import Layout
from analysis.vatting.limits import NOTHING_LIFTED, LimitKey, LimitKind
from tests.analysis.vatting.test_rows_by_hand import LITRES, PARTS, model_of, plain


def test_a_cask_that_helps_is_let_in_for_as_many_tries_as_there_are() -> None:
    """One cask of 60 and 60 alone is 18 and 20 off in 6 each; with one of nothing it is within."""
    stock = plain()
    stock.estimate[:] = [[60.0, 60.0], [90.0, 90.0], [70.0, 70.0], [0.0, 0.0]]
    model = model_of(replace(PARTS, litres=100.0), stock)
    alone = np.array([0.84, 0.0, 0.0, 0.0])
    start = Drawn(alone, model.objective(alone))
    assert start.value > 20.0
    found = exchange(model, start, 0.0, tries=50)
    assert found.value < 0.01
    assert keeps_limits(model, found.fractions)
    assert np.flatnonzero(found.fractions).tolist() == [0, 3]
    assert exchange(model, start, 0.0, tries=1).value > 20.0
    assert exchange(model, start, start.value, tries=50) is start


def test_casks_go_in_whole_unless_that_was_lifted_or_never_asked() -> None:
    lifted = frozenset({LimitKey(LimitKind.WHOLE)})
    asked = [
        is_whole(limits, which) for limits in (LITRES, PARTS) for which in (NOTHING_LIFTED, lifted)
    ]
    assert asked == [True, False, False, False]


@pytest.mark.parametrize(
    ("leave", "fraction", "used", "emptied", "kept"),
    [
        (0.0, 0.2, 1, 0, True),
        (0.0, 0.19, 1, 0, False),
        (0.0, 1.0, 1, 0, True),
        (0.0, 0.1, 0, 0, False),
        (0.0, 0.0, 0, 0, True),
        # Of 100 L 30 are to stay: up to 70 are drawn, or all.
        (30.0, 0.7, 1, 0, True),
        (30.0, 0.71, 1, 0, False),
        (30.0, 1.0, 1, 1, True),
        (30.0, 0.9, 1, 1, False),
        (30.0, 0.0, 0, 1, False),
    ],
)
def test_a_cask_gives_its_smallest_draw_to_its_largest_or_nothing(
    leave: float, fraction: float, used: int, emptied: int, kept: bool
) -> None:
    layout = Layout(model_of(replace(PARTS, smallest_draw_litres=20.0, leave_litres=leave)))
    columns = np.zeros(layout.width)
    columns[layout.fraction], columns[layout.used], columns[layout.emptied] = (
        fraction,
        used,
        emptied,
    )
    assert all((rows @ columns <= 1e-9).all() for rows in layout._links()) is kept
