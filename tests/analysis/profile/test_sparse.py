"""The sparse way against the dense one written for any house, to twelve digits."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from analysis.array_types import Matrix, Vector
from analysis.errors import FitError
from analysis.profile import moments, ways
from analysis.profile.layout import Glasses
from analysis.profile.moments import Moments
from analysis.profile.predict import predict
from analysis.profile.slopes import slopes
from analysis.profile.sparse.factor import Ordering
from analysis.profile.sparse.inverse import Places
from analysis.profile.sparse.moments import SparseMoments
from analysis.profile.sparse.plan import Plan
from analysis.profile.sparse.system import SparseSystem
from analysis.profile.system import System
from analysis.profile.terms import ASSESSOR, ASSESSOR_SAMPLE, FILLING, SAMPLE, SESSION
from tests.analysis.profile.dense import RATIOS
from tests.bench.large_house import LargeHouse

DIGITS = 1e-12
PANEL = np.array([0, 2, 3])
CASES = [
    RATIOS,
    {name: r for name, r in RATIOS.items() if name != FILLING},
    {name: r for name, r in RATIOS.items() if name not in (SESSION, ASSESSOR_SAMPLE)},
    RATIOS | {SAMPLE: 0.0},
    RATIOS | {FILLING: 0.0, SESSION: 0.0},
    RATIOS | {ASSESSOR: 0.0, ASSESSOR_SAMPLE: 0.0},
    RATIOS | {SAMPLE: 40.0, SESSION: 1e-5},
    {SAMPLE: 0.7},
]


def web(come_back: float, seed: int = 3) -> Glasses:
    """Twelve sessions of three to five people with a reference in each, and duplicates.

    Every third filling has two samples; that share of the places goes to samples of before.
    """
    rng = np.random.default_rng(seed)
    rows, poured = [], 1
    for t in range(12):
        old = [int(i) for i in rng.permutation(np.arange(1, poured)) if rng.random() < come_back]
        samples = [0, *old[:3], *range(poured, poured + 5 - min(len(old), 3))]
        poured = max(poured, samples[-1] + 1)
        for j in rng.choice(5, rng.integers(3, 6), replace=False):
            for i in samples:
                rows += [(t, int(j), i)] * (2 if rng.random() < 0.15 else 1)
    session, assessor, sample = np.array(rows).T.astype(np.intp)
    each = np.arange(poured)
    filling = np.unique(np.where(each % 3 == 2, each - 1, each), return_inverse=True)[1]
    return Glasses(session, assessor, sample, filling.astype(np.intp))


class Both:
    """One house solved both ways; the dense one with its covariance held exactly."""

    def __init__(self, glasses: Glasses, ratios: Mapping[str, float]) -> None:
        rng = np.random.default_rng(4)
        layout = glasses.layout
        self.y = rng.normal(40.0, 12.0, glasses.n)
        scale = rng.normal(1.0, 0.5, glasses.n_assessors)
        weight = rng.uniform(0.4, 2.0, glasses.n)
        plan = Plan(layout, tuple(ratios))
        self.sparse = SparseSystem(plan, ratios, scale, weight)
        none = np.empty((glasses.n_samples, 0))
        self.dense = System(layout, none, ratios, scale, weight)
        self.found, self.wanted = SparseMoments(self.sparse), Moments(self.dense)


@pytest.fixture(params=[0.0, 0.5], ids=["apart", "tied"])
def glasses(request: pytest.FixtureRequest) -> Glasses:
    return web(float(request.param))


@pytest.fixture(params=range(len(CASES)))
def both(request: pytest.FixtureRequest, glasses: Glasses, monkeypatch: pytest.MonkeyPatch) -> Both:
    monkeypatch.setattr(moments, "EXACT_UP_TO", 10_000)
    return Both(glasses, CASES[request.param])


def close(found: Vector | Matrix | float, wanted: Vector | Matrix | float) -> None:
    """Equal to twelve digits of the largest."""
    scale = float(np.max(np.abs(wanted)))
    np.testing.assert_allclose(found, wanted, rtol=0.0, atol=DIGITS * max(scale, 0.1))


def test_effects(both: Both) -> None:
    found, wanted = both.sparse.solve(both.y), both.dense.solve(both.y)
    for name in ("tau", "u", "session", "own", "block", "cell", "left", "mu", "squares"):
        close(getattr(found, name), getattr(wanted, name))
    close(both.sparse.log_determinant, both.dense.log_determinant)


def test_second_moments(both: Both) -> None:
    found, wanted = both.found, both.wanted
    close(found.tau_variance, wanted.tau_variance)
    close(found.fitted_variance, wanted.fitted_variance)
    close(found.tau_with_fitted, wanted.tau_with_fitted)
    close(found.left_out_information, wanted.left_out_information)
    if ASSESSOR in both.sparse.ratios:
        close(found.offset_covariance, wanted.offset_covariance)


def test_traces_and_slopes(both: Both) -> None:
    """With a ratio of nothing too: what would be gained by one is known as well."""
    found, wanted = both.found.traces(), both.wanted.traces()
    assert list(found) == list(wanted)
    for name, trace in wanted.items():
        assert found[name] == pytest.approx(trace, rel=DIGITS)
    one = slopes(both.sparse, both.sparse.solve(both.y), both.found)
    other = slopes(both.dense, both.dense.solve(both.y), both.wanted)
    close(one.gradient, other.gradient)
    close(one.hessian, other.hessian)


def test_predictions_of_the_panel_mean(both: Both) -> None:
    found = predict(both.found, both.sparse.solve(both.y), PANEL, 2.0)
    wanted = predict(both.wanted, both.dense.solve(both.y), PANEL, 2.0)
    close(found.estimate, wanted.estimate)
    close(found.variance, wanted.variance)
    close(found.common, wanted.common)


def test_the_webs_hold_what_the_two_ways_differ_by() -> None:
    """A border, absorbed cells that link two sessions, fillings of two samples."""
    pattern = Plan(web(0.5).layout, tuple(RATIOS)).pattern
    assert 1 <= pattern.much.sum() <= 5
    assert len(pattern.a) > pattern.layout.n_meetings
    assert (pattern.of_filling >= 0).sum() > 5
    assert len(Plan(web(0.0).layout, tuple(RATIOS)).pattern.a) == web(0.0).layout.n_meetings


def test_entries_of_an_inverse_on_the_places_of_its_factor() -> None:
    """Leaves, groups of columns and a dense end, some entries by chance nothing."""
    rng, size = np.random.default_rng(1), 60
    row, column = (rng.integers(0, size, 150) for _ in range(2))
    each = np.arange(size)
    keys = np.maximum(row, column) * size + np.minimum(row, column)
    row, column = np.divmod(np.unique(np.concatenate([keys, each * (size + 1)])), size)
    value = np.where(row == column, 20.0, rng.integers(0, 3, len(row)))
    matrix = np.zeros((size, size))
    matrix[row, column] = matrix[column, row] = value
    ordering = Ordering(row, column, size)
    factor = ordering.factored(value)
    inverse = np.linalg.inv(matrix)
    np.testing.assert_allclose(factor.solve(np.eye(size)), inverse, atol=1e-14)
    assert factor.log_determinant == pytest.approx(np.linalg.slogdet(matrix)[1])
    found = Places(ordering).inverse(factor)
    np.testing.assert_allclose(found[ordering.slots(row, column)], inverse[row, column], atol=1e-14)
    back = np.argsort(ordering.number)
    across = np.repeat(each, np.diff(ordering.starts))
    wanted = inverse[back[ordering.rows], back[across]]
    np.testing.assert_allclose(found, wanted, atol=1e-14)


def test_a_matrix_without_a_factor_is_refused() -> None:
    ordering = Ordering(np.array([0, 1, 1]), np.array([0, 0, 1]), 2)
    with pytest.raises(FitError, match="below nothing"):
        ordering.factored(np.array([1.0, 2.0, 1.0]))


def large(dealt: float) -> Glasses:
    """Three copies of ten sessions of the invented distillery."""
    frame = LargeHouse(copies=3, n_sessions=10, dealt=dealt).frame()
    frame = frame[frame["descriptor"] == "hearth smoke"]
    session, assessor, sample = (
        np.unique(frame[name], return_inverse=True)[1].astype(np.intp)
        for name in ("session", "assessor", "sample")
    )
    first = frame.drop_duplicates("sample").sort_values("sample")
    filling = np.unique(first["filling"].fillna(first["sample"]), return_inverse=True)[1]
    return Glasses(session, assessor, sample, filling.astype(np.intp))


def test_which_way_is_reckoned_from_who_was_nosed_when(monkeypatch: pytest.MonkeyPatch) -> None:
    """The work of the factor is told to a half before it is laid out; a wide border is dense."""
    for dealt in (0.0, 1.0):
        layout = large(dealt).layout
        plan = Plan(layout, tuple(RATIOS))
        work = float(np.sum(np.diff(plan.ordering.exact_starts).astype(float) ** 2))
        assert 0.5 < ways.steps(layout) / work < 2.0
    assert not ways.sparse_pays(web(0.5).layout, tuple(RATIOS))
    monkeypatch.setattr(ways, "EXACT_UP_TO", 10)
    assert ways.sparse_pays(web(0.0).layout, tuple(RATIOS))
    assert not ways.sparse_pays(web(0.0).layout, tuple(RATIOS)[1:])
    session, assessor = np.repeat(np.arange(8), 240), np.tile(np.repeat(np.arange(40), 6), 8)
    returning = Glasses(session, assessor, np.tile(np.arange(6), 320), np.arange(6))
    assert not ways.sparse_pays(returning.layout, tuple(RATIOS))
