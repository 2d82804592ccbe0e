"""Steps of the search for a vatting on four casks, reckoned by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from analysis.vatting.dive import Drawn, _support, dive, exchange, keeps_limits
from analysis.vatting.eligible import is_whole
from analysis.vatting.exchanged import exchanged
from analysis.vatting.integer import Layout, solve_integer, solver_options
from analysis.vatting.limits import NOTHING_LIFTED, LimitKey, LimitKind
from analysis.vatting.tighten import tighten
from tests.analysis.vatting.test_rows_by_hand import LITRES, PARTS, model_of, plain, task_of


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


def test_draws_that_no_casks_give_are_none() -> None:
    assert dive(model_of(PARTS)) is None, "a thousand litres of four casks"
    model = model_of(replace(PARTS, litres=120.0, casks_max=2, excess_fraction=0.5))
    before = np.array([0.5, 0.6, 0.0, 0.0])
    assert _support(model, before, np.array([0, 1, 2])) is None, "three casks"
    found = _support(model, before, np.array([0, 1]))
    assert found is not None
    assert np.flatnonzero(found[0].fractions).tolist() == [0, 1]
    assert keeps_limits(model, found[0].fractions)
    little = model_of(replace(PARTS, litres=190.0))
    assert _support(little, np.zeros(4), np.array([0])) is None, "one cask is not enough"


def test_every_row_must_hold_not_some() -> None:
    model = model_of(replace(PARTS, litres=110.0, excess_fraction=0.5))
    fractions = np.array([0.5, 0.5, 0.0, 0.0])
    assert keeps_limits(model, fractions)
    rows = np.array([[1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0]])
    for low, kept in ((0.4, False), (0.5, True)):
        held = replace(model, hard=rows, hard_limit=np.array([1.0, low]), hard_key=(None, None))
        assert keeps_limits(held, fractions) is kept
        counted = replace(model, count=rows, count_limit=np.array([1.0, 2 * low - 0.5]))
        assert keeps_limits(counted, fractions) is False
    assert keeps_limits(replace(model, count=rows, count_limit=np.ones(2)), fractions)
    forced = np.array([True, False, True, False])
    assert not keeps_limits(replace(model, forced=forced), fractions)
    assert not keeps_limits(replace(model, low=np.array([0.5, 0.6, 0.0, 0.0])), fractions)
    assert not keeps_limits(replace(model, high=np.array([0.4, 0.6, 1.0, 1.0])), fractions)


def test_only_casks_that_can_be_emptied_are() -> None:
    model = model_of(replace(PARTS, leave_litres=30.0), plain(reserved_l=[0.0, 50.0, 0.0, 0.0]))
    lower, upper = Layout(model).bounds()
    assert upper[Layout(model).emptied].tolist() == [1.0, 0.0, 1.0, 1.0]
    assert lower.tolist() == [0.0] * (len(lower) - 1) + [1.0]
    held = Layout(model_of(PARTS))
    assert not held.emptying
    assert held.bounds()[1][held.fraction].tolist() == [1.0] * 4


def test_where_the_integer_solver_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    assert solver_options(np.inf, 0.1, None) == {"mip_rel_gap": 0.1}
    assert solver_options(2.0, 0.1, 7) == {"mip_rel_gap": 0.1, "time_limit": 2.0, "node_limit": 7}
    assert solver_options(-1.0, 0.1, None)["time_limit"] > 0.0
    costs: list[np.ndarray[Any, Any]] = []

    def milp(cost: np.ndarray[Any, Any], **_more: object) -> object:
        costs.append(cost)
        return SimpleNamespace(x=None, mip_dual_bound=None, status=2)

    monkeypatch.setattr("scipy.optimize.milp", milp)
    for feasible_only in (True, False):
        found = solve_integer(model_of(PARTS), 1.0, feasible_only=feasible_only)
        assert (found.fractions, found.bound, found.infeasible) == (None, -np.inf, True)
    anywhere, nearest = costs
    assert anywhere[:-1].tolist() == [0.0] * (len(anywhere) - 1)
    assert (nearest[:-1] > 0.0).any()


def test_draws_of_parts_are_found_and_an_emptied_cask_stays_emptied() -> None:
    """Of 100 L 30 are to stay, or none: emptied before, a cask is emptied in the new draws too."""
    limits = replace(PARTS, litres=150.0, leave_litres=30.0, excess_fraction=0.3)
    model = model_of(limits)
    drawn = dive(model)
    assert drawn is not None
    assert keeps_limits(model, drawn.fractions)
    assert drawn.value == model.objective(drawn.fractions)
    for before, emptied in ((1.0, True), (0.7, False)):
        found = _support(model, np.array([before, 0.4, 0.0, 0.0]), np.array([0, 1]))
        assert found is not None
        assert bool(found[0].fractions[0] == 1.0) is emptied


def test_parts_of_casks_are_not_exchanged_whole() -> None:
    task = task_of(replace(PARTS, litres=120.0, excess_fraction=0.5))
    chosen = tighten(task, kappas=(0.0,))
    assert exchanged(task, chosen) is chosen
