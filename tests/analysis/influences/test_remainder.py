"""Variances of makes, batches and casks against the model written out."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.optimize

from analysis.array_types import Matrix, Vector
from analysis.influences.remainder import Nest, Remainder


def made(seed: int, n: int = 90) -> tuple[Vector, Matrix, Vector, Nest]:
    """Readings of fillings in batches of six, these in makes of three, shuffled."""
    rng = np.random.default_rng(seed)
    batch = rng.permutation(np.arange(n) // 6)
    batch = np.unique(batch, return_index=True)[1].argsort().argsort()[batch]
    make = np.arange(batch.max() + 1) // 3
    order = np.argsort(batch, kind="stable")
    starts = np.searchsorted(batch[order], np.arange(batch.max() + 1))
    noise = rng.uniform(2.0, 9.0, n)
    x = np.column_stack([np.ones(n), rng.normal(size=(n, 3))])
    y = x @ np.array([30.0, 2.0, 0.0, -3.0]) + rng.normal(0.0, 4.0, make.max() + 1)[make[batch]]
    y += rng.normal(0.0, 3.0, len(make))[batch] + rng.normal(0.0, np.sqrt(noise + 16.0))
    return y, x, noise, Nest(batch, make, order, starts)


def deviance(variances: Vector, y: Vector, x: Matrix, noise: Vector, nest: Nest) -> float:
    """Minus twice the restricted log-likelihood, up to a constant."""
    z = np.eye(len(nest.make))[nest.batch]
    parts = [np.eye(len(y)), z @ z.T, (z @ nest.of_make) @ (z @ nest.of_make).T]
    v = np.diag(noise) + sum(s * part for s, part in zip(variances, parts, strict=False))
    inverse = np.linalg.inv(v)
    within = x.T @ inverse @ x
    off = y - x @ np.linalg.solve(within, x.T @ inverse @ y)
    return float(np.linalg.slogdet(v)[1] + np.linalg.slogdet(within)[1] + off @ inverse @ off)


@pytest.mark.parametrize("with_makes", [False, True])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_other_variances_are_likelier(seed: int, with_makes: bool) -> None:
    y, x, noise, nest = made(seed)
    found = Remainder(y, x, noise, nest, with_makes=with_makes)

    def at(logs: Vector) -> float:
        return deviance(np.exp(logs), y, x, noise, nest)

    here = np.log(found.variances)
    low = float(np.log(1e-4 * (y - x @ np.linalg.lstsq(x, y, rcond=None)[0]).var()))
    other = scipy.optimize.minimize(
        at, np.full(len(here), 2.0), method="L-BFGS-B", bounds=[(low, low + 14.0)] * len(here)
    )
    assert at(here) <= other.fun + 1e-5
    assert np.abs(here - other.x)[other.x > low + 1.0] == pytest.approx(0.0, abs=0.05)


def test_what_is_solved_is_least_squares_under_the_whole_error() -> None:
    y, x, noise, nest = made(4)
    found = Remainder(y, x, noise, nest, with_makes=True)
    z = np.eye(len(nest.make))[nest.batch]
    own, of_batches, of_makes = found.variances
    m = z @ nest.of_make
    v = np.diag(noise + own) + of_batches * z @ z.T + of_makes * m @ m.T
    covariance = np.linalg.inv(x.T @ np.linalg.solve(v, x))
    beta, said = found.solve(x)
    assert said == pytest.approx(covariance)
    assert beta == pytest.approx(covariance @ x.T @ np.linalg.solve(v, y))
