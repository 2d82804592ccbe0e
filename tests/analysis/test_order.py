"""Place and smoke before, drawn to nothing: against the closed form, and where nothing is known."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.order import (
    CARRY_SD,
    PLACE_SD,
    Drawn,
    draw_to_nothing,
    is_smoke,
    order_columns,
    taken_out,
    without_levels,
)

ONE = np.zeros(4, dtype=np.intp)


def test_levels_are_taken_out_as_by_least_squares() -> None:
    rng = np.random.default_rng(2)
    tray, sample = rng.integers(0, 5, 60), rng.integers(0, 7, 60)
    columns = rng.normal(size=(60, 3))
    design = np.column_stack([np.eye(5)[tray], np.eye(7)[sample]])
    wanted = columns - design @ np.linalg.lstsq(design, columns, rcond=None)[0]
    assert without_levels(columns, tray, sample) == pytest.approx(wanted, abs=1e-6)


def test_trays_that_are_all_alike_tell_nothing() -> None:
    tray, sample = np.repeat([0, 1, 2], 4), np.tile(np.arange(4), 3)
    x = np.column_stack([np.tile([-1.5, -0.5, 0.5, 1.5], 3), np.zeros(12)])
    y = np.random.default_rng(1).normal(50.0, 5.0, 12) - 3.0 * x[:, 0]
    found = draw_to_nothing(y, x, tray, sample, Drawn.before_looking())
    assert found.mean == pytest.approx([0.0, 0.0], abs=1e-9)
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx([PLACE_SD, CARRY_SD], rel=1e-6)


def test_many_scores_outweigh_what_was_thought_before() -> None:
    rng = np.random.default_rng(3)
    tray = np.repeat(np.arange(40), 8)
    sample = np.concatenate([rng.permutation(8) for _ in range(40)])
    x = np.column_stack([np.tile(np.arange(8) - 3.5, 40), rng.normal(0.0, 20.0, 320)])
    y = 6.0 * sample - 1.8 * x[:, 0] + 0.2 * x[:, 1] + rng.normal(0.0, 5.0, 320)
    found = draw_to_nothing(y, x, tray, sample, Drawn.before_looking())
    sd = np.sqrt(np.diag(found.covariance))
    assert np.abs(found.mean - [-1.8, 0.2]) == pytest.approx([0.0, 0.0], abs=2.5 * float(sd.max()))
    assert sd[0] < 0.2


def test_the_first_glass_has_nothing_before_it() -> None:
    x = order_columns(ONE, np.array([1.0, 2.0, 3.0, np.nan]), np.array([9.0, 30.0, 0.0, 5.0]), ONE)
    assert x[:, 0].tolist() == [-1.0, 0.0, 1.0, 0.0]
    assert x[0, 1] == 0.0
    assert x[2, 1] - x[1, 1] == pytest.approx(21.0)


def test_a_score_stays_inside_the_line_and_at_its_ends() -> None:
    x = np.column_stack([np.full(3, 9.0), np.zeros(3)])
    effect = Drawn(np.array([2.0, 0.0]), np.eye(2))
    low, high = np.zeros(3), np.full(3, 100.0)
    found = taken_out(np.array([0.0, 4.0, 100.0]), x, effect, low, high)
    assert found.tolist() == [0.0, 0.5, 100.0]


def test_which_notes_tell_of_smoke() -> None:
    assert [is_smoke(name) for name in ("Birch smoke", "peat ash", "plum")] == [True, True, False]
