"""Tables with holes, and two named samples: beside numpy's least squares and scipy's t tests."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from analysis.agreement.indices.additive import additive
from analysis.agreement.indices.layout import (
    ScoreLayout,
    additive_levels,
    layouts_of,
    means_of_others,
)
from analysis.agreement.indices.pair import pair_span

Table = np.ndarray[Any, np.dtype[np.float64]]


def holed(seed: int = 1) -> Table:
    rng = np.random.default_rng(seed)
    table = (
        20.0 + 8.0 * rng.normal(size=(6, 1)) + 12.0 * rng.normal(size=5) + rng.normal(size=(6, 5))
    )
    for at in ((0, 1), (2, 4), (3, 0), (3, 1), (5, 2)):
        table[at] = np.nan
    return table


def fitted(table: Table) -> tuple[Table, Table, Table]:
    """Rows, columns about their mean, and what is left, by a design of zeros and ones."""
    row, column = np.nonzero(~np.isnan(table))
    design = np.hstack([np.eye(table.shape[0])[row], np.eye(table.shape[1])[column]])
    found = np.linalg.lstsq(design, table[row, column], rcond=None)[0]
    rows, columns = found[: table.shape[0]], found[table.shape[0] :]
    return rows + columns.mean(), columns - columns.mean(), table[row, column] - design @ found


@pytest.mark.parametrize("table", [holed(), holed()[:2, 2:4], np.nan_to_num(holed(), nan=9.0)])
def test_rows_and_columns_of_a_table_are_those_of_least_squares(table: Table) -> None:
    found = additive(table)
    rows, columns, left = fitted(table)
    assert found.columns == pytest.approx(columns)
    assert found.levels == pytest.approx(rows)
    assert found.left[~np.isnan(table)] == pytest.approx(left, abs=1e-9)
    cells = int((~np.isnan(table)).sum())
    assert (found.rank, found.df) == (table.shape[1] - 1, cells - sum(table.shape) + 1)
    assert found.joined
    squares = float(left @ left)
    if found.df > 0:
        assert found.variance == pytest.approx(squares / found.df)
    whole = np.nansum((table - np.nanmean(table, axis=1, keepdims=True)) ** 2)
    assert found.between == pytest.approx(whole - squares)
    if found.f is not None:
        assert found.f == pytest.approx((whole - squares) / found.rank / found.variance)


def test_the_error_of_a_difference_is_that_of_least_squares() -> None:
    table = holed()
    row, column = np.nonzero(~np.isnan(table))
    design = np.hstack([np.eye(6)[row], np.eye(5)[column]])
    own = np.linalg.pinv(design.T @ design)[6:, 6:]
    unit = additive(table).unit
    for one in range(5):
        for other in range(one):
            apart = np.zeros(5)
            apart[one], apart[other] = 1.0, -1.0
            assert apart @ unit @ apart == pytest.approx(apart @ own @ apart)


def test_what_hangs_together_nowhere_and_what_is_left_of_nothing() -> None:
    apart = np.full((4, 4), np.nan)
    apart[:2, :2], apart[2:, 2:] = [[1.0, 5.0], [2.0, 7.0]], [[10.0, 20.0], [11.0, 23.0]]
    found = additive(apart)
    assert (found.rank, found.joined, found.df) == (2, False, 2)
    exact = additive(np.array([[1.0, 5.0, 9.0], [3.0, 7.0, 11.0]]))
    assert exact.exact
    assert exact.f is None
    assert not additive(holed()).exact
    alone = additive(np.array([[1.0, 2.0]]))
    assert (alone.df, alone.f) == (0, None)
    assert np.isnan(alone.variance)
    assert not alone.exact
    empty = additive(np.array([[1.0, np.nan], [3.0, np.nan]]))
    assert np.isnan(empty.columns[1])
    assert additive(np.array([[np.nan, np.nan], [1.0, 2.0]])).df == 0


PAIRS = np.array([[40.0, 42.0], [45.0, 44.5], [38.0, 41.0], [50.0, 51.0], [33.0, 37.0]])


@pytest.mark.parametrize("tolerance", [10.0, 1.0, 0.5])
def test_two_named_samples_alone_are_a_paired_t_test(tolerance: float) -> None:
    found = pair_span(additive(PAIRS), ["x", "y"], ("x", "y"), tolerance)
    assert found is not None
    seen = stats.ttest_rel(PAIRS[:, 0], PAIRS[:, 1])
    difference = float(np.diff(PAIRS, axis=1).mean())
    assert found.difference == pytest.approx(-difference)
    assert found.difference / found.se == pytest.approx(float(seen.statistic))
    reach = stats.t.ppf(0.95, 4) * found.se
    assert found.at_most == pytest.approx(abs(difference) + reach)
    assert found.alike is bool(abs(difference) + reach <= tolerance)
    assert found.p_apart == pytest.approx(stats.t.sf((abs(difference) - tolerance) / found.se, 4))
    assert found.times == pytest.approx((reach / (abs(difference) - tolerance)) ** 2)


def test_two_samples_of_which_nothing_can_be_said() -> None:
    assert pair_span(additive(PAIRS[:1]), ["x", "y"], ("x", "y"), 10.0) is None
    with pytest.raises(KeyError):
        pair_span(additive(PAIRS), ["x", "y"], ("x", "z"), 10.0)
    same = pair_span(additive(PAIRS), ["x", "y"], ("x", "y"), 10.0, (0.0, additive(PAIRS).df))
    assert same is not None
    assert (same.se, same.p_apart, same.times) == (0.0, 1.0, 0.0)
    further = pair_span(additive(PAIRS), ["x", "y"], ("x", "y"), 1.0, (0.0, additive(PAIRS).df))
    assert further is not None
    assert further.p_apart == 0.0
    wide = pair_span(additive(PAIRS), ["x", "y"], ("x", "y"), 10.0, (5.0, additive(PAIRS).df))
    assert wide is not None
    assert wide.se == pytest.approx(5.0 * np.sqrt(2.0 / 5.0))


def test_levels_and_means_of_the_others() -> None:
    table = holed()
    levels, *_ = fitted(table)
    assert additive_levels(table) == pytest.approx(levels - levels.mean())
    whole = np.nan_to_num(table, nan=9.0)
    assert additive_levels(whole) == pytest.approx(whole.mean(axis=1) - whole.mean())
    found = means_of_others(table)
    for row in range(6):
        rest = np.delete(table, row, axis=0)
        assert found[row] == pytest.approx(np.nanmean(rest, axis=0))
    assert np.isnan(means_of_others(np.array([[1.0, np.nan], [np.nan, 2.0]]))[0, 0])


ROWS = [
    *(("S2", "smoke", "B", "y", 2, 7.0), ("S2", "smoke", "B", "y", 1, 5.0)),
    *(("S2", "smoke", "A", "x", 1, 1.0), ("S1", "wax", "A", "y", 1, 4.0)),
    *(("S1", "smoke", "A", "x", 1, 3.0), ("S1", "smoke", "C", "y", 1, 9.0)),
    ("S1", "smoke", "A", "y", 1, 8.0),
]
NAMES = ["session", "descriptor", "assessor", "sample", "replicate", "score"]


def test_many_sessions_are_laid_out_as_each_by_itself() -> None:
    scores = pd.DataFrame(ROWS, columns=NAMES)
    laid = list(layouts_of(scores))
    assert [sorted(one) for one in laid] == [["smoke", "wax"], ["smoke"]]
    for session, one in zip(("S1", "S2"), laid, strict=True):
        for note, found in one.items():
            mine = scores[(scores["session"] == session) & (scores["descriptor"] == note)]
            alone = ScoreLayout.of(mine)
            assert (found.assessors, found.samples) == (alone.assessors, alone.samples)
            assert found.score.tolist() == alone.score.tolist()
            assert (found.assessor.tolist(), found.sample.tolist()) == (
                alone.assessor.tolist(),
                alone.sample.tolist(),
            )
    first, second = laid[0]["smoke"], laid[1]["smoke"]
    assert (first.n_cells, first.free_assessors, first.complete) == (3, 1, False)
    assert (second.n_cells, second.free_assessors, second.replicated) == (2, 0, True)
    assert (first.replicates, second.replicates, first.replicated) == (None, None, False)
    assert second.within_squares.tolist() == [[0.0, 0.0], [0.0, 2.0]]
    assert np.isnan(second.means[0, 1])
    assert (second.means[0, 0], second.means[1, 1]) == (1.0, 6.0)
    assert (laid[0]["wax"].constant, first.constant) == (True, False)
    assert (laid[0]["wax"].replicates, laid[0]["wax"].complete) == (1, True)
