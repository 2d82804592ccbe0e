"""The closed forms against plain matrices."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.optimize

from analysis.array_types import Matrix, Vector
from analysis.influences.known_noise import OFF_ZERO, Columns, KnownNoiseModel
from analysis.influences.layout import TraitLayout
from analysis.influences.left_out import leave_out
from analysis.influences.small import inverses

FLAT = 1e8
"""Prior variance so wide that the level counts as fixed in the plain matrices."""


class Case:
    """A small model with two traits, six coefficients in two blocks, and uneven casks."""

    def __init__(self, seed: int = 1) -> None:
        rng = np.random.default_rng(seed)
        self.cask = np.repeat(np.arange(12), [1, 2, 3] * 4)
        n = len(self.cask)
        self.bases = np.column_stack([np.ones(n), rng.uniform(0.2, 1.5, n)])
        self.traits = rng.normal(size=(12, 2, 6))
        self.traits[:, :, 0] = [1.0, 0.0]
        self.noise = rng.uniform(1.0, 4.0, n)
        self.y = rng.normal(0.0, 4.0, n)
        self.columns = Columns(
            np.array([-1, -1, 0, 0, 1, 1]), np.array([FLAT, 25.0, np.nan, np.nan, np.nan, np.nan])
        )
        self.at = np.array([0.3, 0.1, 1.0, 0.5])
        self.shuffle = rng.permutation(n)

    def model(self) -> KnownNoiseModel:
        p = self.shuffle
        return KnownNoiseModel(
            *(
                self.y[p],
                self.noise[p],
                self.bases[p],
                self.cask[p],
                TraitLayout(self.traits),
                self.columns,
            )
        )

    def covariance(self, at: Vector) -> Matrix:
        """``V`` of all readings, written out."""
        w = np.einsum("il,ilm->im", self.bases, self.traits[self.cask])
        d = self.columns.variances(at[:2])
        same = self.cask[:, None] == self.cask
        own = (self.bases * np.exp(at[2:])) @ self.bases.T * same
        found: Matrix = np.diag(self.noise) + own + (w * d) @ w.T
        return found

    def log_likelihood(self, at: Vector) -> float:
        v = self.covariance(at)
        square = self.y @ np.linalg.solve(v, self.y) + np.linalg.slogdet(v)[1]
        return -0.5 * float(square + len(self.y) * np.log(2 * np.pi))


@pytest.fixture
def case() -> Case:
    return Case()


def test_likelihood_is_that_of_the_whole_covariance(case: Case) -> None:
    assert case.model().log_likelihood(case.at) == pytest.approx(case.log_likelihood(case.at))
    assert case.model().solve(case.at).log_likelihood == pytest.approx(case.log_likelihood(case.at))


def test_slopes_are_those_of_the_likelihood(case: Case) -> None:
    model = case.model()
    slopes = model.gradient(model.solve(case.at))
    for k, slope in enumerate(slopes):
        step = 1e-5 * np.eye(4)[k]
        rise = model.log_likelihood(case.at + step) - model.log_likelihood(case.at - step)
        assert slope == pytest.approx(rise / 2e-5, rel=1e-5)


def test_leaving_a_cask_out_equals_foretelling_it_from_the_rest(case: Case) -> None:
    model, groups = case.model(), case.cask // 2
    found = leave_out(model, model.solve(case.at), groups[case.shuffle])
    back = np.argsort(case.shuffle)
    v = case.covariance(case.at)
    for group in range(6):
        out = groups == group
        gain = np.linalg.solve(v[np.ix_(~out, ~out)], v[np.ix_(~out, out)]).T
        residual = case.y[out] - gain @ case.y[~out]
        left = v[np.ix_(out, out)] - gain @ v[np.ix_(~out, out)]
        np.testing.assert_allclose(found.residual[back][out], residual, rtol=1e-5, atol=1e-6)
        np.testing.assert_allclose(found.variance[back][out], np.diag(left), rtol=1e-5)
        density = residual @ np.linalg.solve(left, residual) + np.linalg.slogdet(left)[1]
        density += out.sum() * np.log(2 * np.pi)
        assert found.log_density[group] == pytest.approx(-0.5 * density, rel=1e-5)


def test_no_standard_deviation_ends_at_zero_with_the_prior(case: Case) -> None:
    case.y = np.random.default_rng(5).normal(0.0, 1.0, len(case.y)) * np.sqrt(case.noise)
    free, held = case.model().fit(), case.model().fit(sd_scale=15.0)
    assert np.exp(free.log_variances / 2).min() < 0.02
    assert np.exp(held.log_variances / 2).min() > 0.05


def test_information_is_the_average_of_the_whole_covariance(case: Case) -> None:
    """Average information written out (Gilmour, Thompson & Cullis 1995, Biometrics 51: 1440)."""
    model = case.model()
    solution = model.solve(case.at)
    p = np.linalg.inv(case.covariance(case.at))
    w = np.einsum("il,ilm->im", case.bases, case.traits[case.cask])
    same = case.cask[:, None] == case.cask
    slopes = [w[:, block] @ w[:, block].T for block in (slice(2, 4), slice(4, 6))]
    slopes += [np.outer(basis, basis) * same for basis in case.bases.T]
    pulled = [np.exp(at) * d @ p @ case.y for at, d in zip(case.at, slopes, strict=True)]
    wanted = [[0.5 * one @ p @ other for other in pulled] for one in pulled]
    np.testing.assert_allclose(model.information(solution), wanted, rtol=1e-6)


@pytest.mark.parametrize("sd_scale", [15.0, 2.0])
@pytest.mark.parametrize("start", [None, np.full(4, -9.0), np.full(4, 8.0)])
def test_a_fit_ends_at_the_top_wherever_it_begins(
    case: Case, sd_scale: float, start: Vector | None
) -> None:
    """The top as scipy finds it by values alone."""
    model = case.model()

    def depth(at: Vector) -> float:
        prior = 0.5 * (OFF_ZERO * at - np.exp(at) / sd_scale**2).sum()
        return -model.log_likelihood(at) - float(prior)

    found = model.fit(sd_scale=sd_scale, start=start)
    wanted = scipy.optimize.minimize(depth, np.zeros(4), method="Nelder-Mead", tol=1e-10)
    assert depth(found.log_variances) == pytest.approx(wanted.fun, abs=1e-6)
    np.testing.assert_allclose(found.log_variances, wanted.x, atol=2e-3)


def test_small_matrices_are_inverted_as_one_by_one() -> None:
    rng = np.random.default_rng(3)
    for k in (1, 2, 3, 4):
        roots = rng.normal(size=(20, k, k))
        each = roots @ roots.transpose(0, 2, 1) + np.eye(k)
        found, log_det = inverses(each.transpose(1, 2, 0))
        np.testing.assert_allclose(found.transpose(2, 0, 1), np.linalg.inv(each), atol=1e-12)
        np.testing.assert_allclose(log_det, np.linalg.slogdet(each)[1], rtol=1e-12)
