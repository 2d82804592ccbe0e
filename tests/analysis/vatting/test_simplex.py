"""The own solver of small linear programs beside the general one (HiGHS, by scipy)."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.vatting.relax import solve_columns
from analysis.vatting.simplex import Simplex, Solution


def kept_up(own: Simplex) -> None:
    """Hold what pivots keep up against what the basis gives anew."""
    table = np.linalg.solve(own.matrix[:, own.basis], own.matrix)
    assert own.table == pytest.approx(table, abs=1e-6)
    assert own.dear == pytest.approx(own.cost - own.cost[own.basis] @ table, abs=1e-6)
    assert own.value == pytest.approx(own._values(), abs=1e-6)
    assert np.flatnonzero(own.basic).tolist() == sorted(own.basis.tolist())
    assert np.isfinite(own.high[own.up & ~own.basic]).all()


@pytest.mark.parametrize("seed", range(6))
def test_it_comes_to_what_the_general_solver_does_and_goes_on_from_there(seed: int) -> None:
    """Random programs of the form of a release, then six times with bounds drawn in."""
    rng = np.random.default_rng(seed)
    rows, columns, soft = 16, 40, 12
    matrix = rng.normal(size=(rows, columns)) * rng.uniform(0.1, 100.0, (rows, 1))
    matrix[soft:] = np.abs(matrix[soft:])
    limit = np.concatenate([np.zeros(soft), 0.6 * matrix[soft:].sum(axis=1)])
    matrix[soft], limit[soft] = -matrix[soft], -0.4 * matrix[soft].sum()
    weight, cost = rng.uniform(0.5, 1.5, soft), rng.uniform(0.1, 1.0, columns)
    least, most = np.zeros(columns), np.ones(columns)
    own = Simplex(matrix, limit, weight, cost, least, most)
    for _ in range(7):
        own.bound(least, most)
        assert own.value == pytest.approx(own._values(), abs=1e-7)
        found = own.solve()
        kept_up(own)
        general = solve_columns(matrix, limit, weight, cost, least, most)
        assert isinstance(found, Solution)
        assert (found.x is None) == (general.x is None)
        if found.x is None:
            return
        assert found.value == pytest.approx(general.fun, rel=1e-5)
        assert found.marginals == pytest.approx(general.ineqlin.marginals, abs=1e-5)
        some = rng.choice(columns, 3, replace=False)
        most[some[:2]] = least[some[:2]]
        least[some[2]] = min(0.4, most[some[2]])


def test_limits_that_cannot_stand_together_have_no_answer() -> None:
    matrix, limit = np.array([[1.0, 1.0], [-1.0, -1.0]]), np.array([1.0, -1.5])
    found = Simplex(matrix, limit, np.empty(0), np.ones(2), np.zeros(2), np.ones(2)).solve()
    assert found is not None
    assert found.x is None
