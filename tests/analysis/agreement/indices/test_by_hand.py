"""Sums of squares, fits and degrees of freedom, reckoned once more by dummies and plain loops."""

from __future__ import annotations

from itertools import product
from math import sqrt

import numpy as np
import pytest
import scipy.stats

from analysis.agreement.indices.additive import additive
from analysis.agreement.indices.anova import cell_means_f, two_way_mixed
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.indices.pair import pair_span
from analysis.agreement.indices.reliability import _mean_squares
from analysis.agreement.indices.repeat import Repeat, repeatability
from analysis.agreement.indices.satterthwaite import _combine, successive_contrasts
from analysis.array_types import Matrix


def table_of(seed: int = 3, *, rows: int = 5, columns: int = 4, holes: int = 0) -> Matrix:
    rng = np.random.default_rng(seed)
    table: Matrix = rng.uniform(10, 60, columns) + rng.normal(0, 6, (rows, columns))
    table.ravel()[rng.choice(table.size, holes, replace=False)] = np.nan
    return table


def dummies(table: Matrix) -> tuple[Matrix, Matrix]:
    """Every cell that is there: who and what as dummies, and its score."""
    row, column = np.nonzero(~np.isnan(table))
    design = np.hstack([np.eye(table.shape[0])[row], np.eye(table.shape[1])[column]])
    return design, table[row, column]


@pytest.mark.parametrize("holes", [0, 3, 6])
def test_a_table_with_holes_by_dummies(holes: int) -> None:
    table = table_of(holes=holes)
    design, y = dummies(table)
    beta, _, rank, _ = np.linalg.lstsq(design, y, rcond=None)
    left = y - design @ beta
    found = additive(table)
    assert found.df == len(y) - rank
    assert found.rank == 3
    assert found.joined
    columns = beta[5:] - beta[5:].mean()
    assert found.columns == pytest.approx(columns)
    assert found.variance == pytest.approx(left @ left / found.df)
    rows_only = y - design[:, :5] @ np.linalg.lstsq(design[:, :5], y, rcond=None)[0]
    between = rows_only @ rows_only - left @ left
    assert found.between == pytest.approx(between)
    assert found.f == pytest.approx(between / 3 / found.variance)
    spread = np.linalg.pinv(design.T @ design)[5:, 5:]
    for one, other in product(range(4), repeat=2):
        unit = found.unit[one, one] + found.unit[other, other] - 2 * found.unit[one, other]
        wanted = spread[one, one] + spread[other, other] - 2 * spread[one, other]
        assert unit == pytest.approx(wanted)


def test_columns_that_do_not_hang_together() -> None:
    apart = np.array([[1.0, 2.0, np.nan, np.nan], [2.0, 3.5, np.nan, np.nan]])
    apart = np.vstack([apart, [[np.nan, np.nan, 4.0, 9.0], [np.nan, np.nan, 5.0, 8.0]]])
    found = additive(apart)
    assert (found.rank, found.df, found.joined) == (2, 2, False)
    assert pair_span(found, list("wxyz"), ("w", "x"), 10.0) is None
    exact = additive(np.array([[1.0, 5.0, 9.0], [3.0, 7.0, 11.0]]))
    assert (exact.exact, exact.f, exact.df) == (True, None, 2)
    one_row = additive(np.array([[1.0, 5.0, 9.0]]))
    assert (one_row.exact, one_row.df, one_row.f) == (False, 0, None)
    assert not additive(table_of()).exact


def layout_of(tables: list[Matrix]) -> ScoreLayout:
    stacked = np.stack(tables, axis=2)
    row, column, _ = np.nonzero(~np.isnan(stacked))
    i, j = stacked.shape[:2]
    names = tuple(f"P{k}" for k in range(i)), tuple(f"s{k}" for k in range(j))
    return ScoreLayout(*names, row, column, stacked[~np.isnan(stacked)])


def test_squares_of_a_balanced_session_by_plain_loops() -> None:
    one, two = table_of(1), table_of(2)
    found = two_way_mixed(layout_of([one, two]))
    cells = (one + two) / 2
    grand = cells.mean()
    rows, columns = cells.mean(axis=1), cells.mean(axis=0)
    squares = {
        "sample": sum(2 * 5 * (c - grand) ** 2 for c in columns),
        "assessor": sum(2 * 4 * (r - grand) ** 2 for r in rows),
        "interaction": sum(
            2 * (cells[i, j] - rows[i] - columns[j] + grand) ** 2
            for i, j in product(range(5), range(4))
        ),
        "error": sum(
            (t[i, j] - cells[i, j]) ** 2 for t in (one, two) for i, j in product(range(5), range(4))
        ),
    }
    assert found.squares == pytest.approx(squares)
    assert found.df == {"sample": 3, "assessor": 4, "interaction": 12, "error": 20}
    assert found.sample is not None
    assert found.interaction is not None
    f = squares["sample"] / 3 / (squares["interaction"] / 12)
    assert (found.sample.f, found.sample.df_num, found.sample.df_den) == pytest.approx((f, 3, 12))
    assert found.sample.p == pytest.approx(scipy.stats.f.sf(f, 3, 12))
    assert found.interaction.f == pytest.approx(squares["interaction"] / 12 * 20 / squares["error"])
    assert found.mean_square("error") == pytest.approx(squares["error"] / 20)
    again = cell_means_f(layout_of([one, two]))
    assert again is not None
    assert (again.f, again.df_num, again.df_den) == pytest.approx((f, 3, 12))
    assert two_way_mixed(layout_of([one])).interaction is None


def test_degrees_of_freedom_where_cells_are_empty() -> None:
    table = table_of(holes=4)
    found = cell_means_f(layout_of([table]))
    fit = additive(table)
    assert found is not None
    assert (found.df_num, found.df_den) == (fit.rank, fit.df) == (3, 20 - 4 - 5 - 3)
    assert found.f == pytest.approx(fit.f)
    assert cell_means_f(layout_of([table_of(rows=1)])) is None
    assert cell_means_f(layout_of([np.tile([1.0, 5.0, 9.0], (3, 1))])) is None


@pytest.mark.parametrize("tolerance", [4.0, 30.0])
def test_two_named_samples_by_the_formula(tolerance: float) -> None:
    table = table_of(holes=3)
    fit = additive(table)
    found = pair_span(fit, list("wxyz"), ("x", "z"), tolerance)
    assert found is not None
    difference = float(fit.columns[1] - fit.columns[3])
    unit = fit.unit[1, 1] + fit.unit[3, 3] - 2 * fit.unit[1, 3]
    se = sqrt(fit.variance * unit)
    t = scipy.stats.t(fit.df)
    assert (found.difference, found.se) == pytest.approx((difference, se))
    assert found.at_most == pytest.approx(abs(difference) + t.ppf(0.95) * se)
    assert found.p_apart == pytest.approx(t.sf((abs(difference) - tolerance) / se))
    gap = abs(abs(difference) - tolerance)
    assert found.times == pytest.approx((t.ppf(0.95) * se / gap) ** 2)
    assert found.alike is (found.at_most <= tolerance)
    known = pair_span(fit, list("wxyz"), ("x", "z"), tolerance, (2.0, fit.df))
    assert known is not None
    assert known.se == pytest.approx(2.0 * sqrt(unit))


def test_mean_squares_of_redrawn_panels() -> None:
    """Weights of two and none are the same as two of one assessor and none of another."""
    table = table_of(holes=2)
    present = (~np.isnan(table)).astype(float)
    adjusted = np.nan_to_num(table - np.nanmean(table))
    between, within = _mean_squares(adjusted, present, np.array([[2.0, 0.0, 1.0, 1.0, 1.0]]))
    who = [0, 0, 2, 3, 4]
    cells = [[adjusted[i, j] for i in who if present[i, j]] for j in range(4)]
    grand = np.mean(np.concatenate(cells))
    above = sum(len(c) * (np.mean(c) - grand) ** 2 for c in cells)
    inside = sum((x - np.mean(c)) ** 2 for c in cells for x in c)
    assert between[0] == pytest.approx(above / 3)
    assert within[0] == pytest.approx(inside / (18 - 5 - 4 + 1))


def test_repeats_are_pooled_by_person_and_session() -> None:
    first, second = np.array([[10.0, 20.0], [30.0, 40.0]]), np.array([[14.0, np.nan], [30.0, 48.0]])
    found = repeatability([layout_of([first, second]), layout_of([first]), layout_of([first] * 3)])
    assert found.assessors["P0"].squares == pytest.approx(8.0)
    assert found.assessors["P0"].df == 1 + 4
    assert found.assessors["P1"].squares == pytest.approx(32.0)
    assert found.assessors["P1"].df == 2 + 4
    assert found.panel.df == 11
    assert (found.n_duplicates, found.n_sessions) == (4, 2)
    assert found.panel.sd == pytest.approx(sqrt(40.0 / 11.0))
    assert Repeat(5.0, 0).sd is None


def test_degrees_of_freedom_of_several_directions() -> None:
    """Fai and Cornelius (1996): the mean of F comes out right."""
    assert _combine(np.array([7.5])) == 7.5
    assert _combine(np.array([7.5, 7.5])) == 7.5
    expected = 8.0 / 6.0 + 5.0 / 3.0
    assert _combine(np.array([8.0, 5.0])) == pytest.approx(2.0 * expected / (expected - 2.0))
    assert _combine(np.array([8.0, 2.0])) == 2.0
    assert _combine(np.array([8.0, 2.1])) > 2.0


def test_contrasts_are_those_of_sequential_tests() -> None:
    """They leave the first level out and weigh earlier levels by how often they were had."""
    found = successive_contrasts(np.array([4.0, 2.0, 1.0]))
    assert found.shape == (2, 3)
    assert found.sum(axis=1) == pytest.approx([0.0, 0.0])
    assert found[0] == pytest.approx([-0.8, 1.0, -0.2])  # 2 of 7 and 1 of 7: -2/7 / (10/7) = -.2
    assert found[1] == pytest.approx([-1.0, 0.0, 1.0])
