"""The fit against algebra done the long way round, and at its boundaries."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.sparse
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.agreement.indices.crossed import CrossedDesign
from analysis.agreement.indices.reml import fit_reml
from analysis.agreement.indices.satterthwaite import satterthwaite_f, successive_contrasts
from analysis.errors import FitError
from tests.examples import examples


def ragged(seed: int) -> tuple[np.ndarray, dict[str, np.ndarray], np.ndarray]:
    rng = np.random.default_rng(seed)
    a, s = np.repeat(np.arange(6), 8), np.tile(np.repeat(np.arange(4), 2), 6)
    y = 5.0 * s + rng.normal(0, 3, 6)[a] + rng.normal(0, 2, 24)[a * 4 + s] + rng.normal(0, 2, 48)
    keep = np.sort(rng.choice(48, 40, replace=False))
    cell = np.unique((a * 4 + s)[keep], return_inverse=True)[1]
    return np.eye(4)[s[keep]], {"assessor": a[keep], "cell": cell}, y[keep]


def long_way(
    fixed: np.ndarray, factors: dict[str, np.ndarray], y: np.ndarray, parts: list[float]
) -> tuple[float, np.ndarray, np.ndarray]:
    """Deviance, fixed effects and gradient over (components, residual) by dense inverses."""
    incidences = [np.eye(codes.max() + 1)[codes] for codes in factors.values()]
    squares = [z @ z.T for z in incidences] + [np.eye(len(y))]
    v = sum(part * square for part, square in zip(parts, squares, strict=True))
    inverse = np.linalg.inv(v)
    information = fixed.T @ inverse @ fixed
    beta = np.linalg.solve(information, fixed.T @ inverse @ y)
    p = inverse - inverse @ fixed @ np.linalg.solve(information, fixed.T @ inverse)
    deviance = (
        np.linalg.slogdet(v)[1]
        + np.linalg.slogdet(information)[1]
        + y @ p @ y
        + (len(y) - fixed.shape[1]) * np.log(2.0 * np.pi)
    )
    gradient = [np.trace(p @ square) - y @ p @ square @ p @ y for square in squares]
    return float(deviance), beta, np.array(gradient)


@settings(max_examples=examples(8), deadline=None)
@given(seed=st.integers(0, 10**6))
def test_the_fit_stands_on_a_summit(seed: int) -> None:
    """Slopes are zero inside and point outwards at zero; the likelihood is the dense one."""
    fixed, factors, y = ragged(seed)
    fit = fit_reml(CrossedDesign(fixed, factors), y)
    parts = [*fit.components.values(), fit.residual]
    deviance, beta, gradient = long_way(fixed, factors, y, parts)
    assert fit.log_likelihood == pytest.approx(-0.5 * deviance, abs=1e-8)
    assert fit.beta == pytest.approx(beta, rel=1e-7, abs=1e-7)
    for part, slope in zip(parts, gradient, strict=True):
        if part > 0.0:
            assert slope * part == pytest.approx(0.0, abs=1e-6)
        else:
            assert slope > -1e-9


@settings(max_examples=examples(8), deadline=None)
@given(seed=st.integers(0, 10**6), shift=st.floats(-1e3, 1e3), scale=st.floats(0.01, 100.0))
def test_units_do_not_matter(seed: int, shift: float, scale: float) -> None:
    fixed, factors, y = ragged(seed)
    design = CrossedDesign(fixed, factors)
    one, other = fit_reml(design, y), fit_reml(design, shift + scale * y)
    assert other.residual == pytest.approx(scale**2 * one.residual, rel=1e-6)
    contrasts = successive_contrasts(fixed.sum(axis=0))
    assert satterthwaite_f(other, contrasts).f == pytest.approx(
        satterthwaite_f(one, contrasts).f, rel=1e-5
    )


@pytest.mark.parametrize("more", [(), ("evening",), ("evening", "week")])
def test_prediction_errors_are_those_of_the_mixed_model_equations(more: tuple[str, ...]) -> None:
    fixed, factors, y = ragged(3)
    for groups, name in enumerate(more, start=3):
        factors[name] = np.arange(len(y)) % groups
        y = y + np.linspace(-6.0, 6.0, groups)[factors[name]]
    fit = fit_reml(CrossedDesign(fixed, factors), y)
    z = {name: np.eye(codes.max() + 1)[codes] for name, codes in factors.items()}
    weights = {name: np.eye(4, part.shape[1])[:, ::-1] for name, part in z.items()}
    sparse = {name: scipy.sparse.csr_matrix(part) for name, part in weights.items()}
    estimate, variance = fit.predict(np.eye(4), sparse)
    w = np.hstack([fixed, *z.values()])
    shrunk = [fit.residual / fit.components[name] for name in z]
    sizes = [part.shape[1] for part in z.values()]
    whole = np.linalg.inv(w.T @ w + np.diag(np.repeat([0.0, *shrunk], [4, *sizes])))
    solved = whole @ (w.T @ y)
    rows = np.hstack([np.eye(4), *weights.values()])
    assert estimate == pytest.approx(rows @ solved, rel=1e-6)
    assert variance == pytest.approx(fit.residual * np.sum((rows @ whole) * rows, axis=1), rel=1e-6)
    for name, part in zip(z, np.split(solved[4:], np.cumsum(sizes)[:-1]), strict=True):
        assert fit.effects(name) == pytest.approx(part, rel=1e-6, abs=1e-6)


def test_what_cannot_be_fitted_is_said() -> None:
    design = CrossedDesign(np.ones((4, 1)), {"a": np.array([0, 0, 1, 1])})
    with pytest.raises(FitError, match="equal"):
        fit_reml(design, np.full(4, 7.0))
    with pytest.raises(FitError, match="no more scores"):
        fit_reml(CrossedDesign(np.eye(4), {"a": np.array([0, 0, 1, 1])}), np.arange(4.0))
    twice = CrossedDesign(np.ones((4, 2)), {"a": np.array([0, 0, 1, 1])})
    with pytest.raises(FitError, match="say the same"):
        fit_reml(twice, np.arange(4.0))
