"""Notes that inform each other: the moment estimate, its shrinking and its means, by simulation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from analysis.profile.joint import _best_share, _between, _log_density, _mixed, _positive, join

TRUE = np.array([[40.0, 24.0, 0.0], [24.0, 30.0, 0.0], [0.0, 0.0, 20.0]])


def told(n: int, seed: int = 3) -> tuple[np.ndarray, np.ndarray]:
    """What scores say of samples whose notes hang together, each with a noise of its own."""
    rng = np.random.default_rng(seed)
    noise = rng.uniform(2.0, 60.0, (n, 3))
    truth = rng.multivariate_normal(np.zeros(3), TRUE, n)
    return truth + rng.normal(size=(n, 3)) * np.sqrt(noise), noise


def test_the_covariance_between_samples_comes_back_whatever_their_noise() -> None:
    z, noise = told(40_000)
    found = _between(z, noise, 1.0 / (np.diag(TRUE) + noise))
    assert found == pytest.approx(TRUE, abs=1.2)


def test_the_moment_estimate_by_hand() -> None:
    """Two samples on two notes: sums of products by weight, less the noise by squared weight."""
    z, noise = np.array([[6.0, 2.0], [-4.0, -3.0]]), np.array([[1.0, 2.0], [3.0, 1.0]])
    weight = np.array([[1.0, 2.0], [0.5, 1.0]])
    first = (1.0 * 36.0 + 0.25 * 16.0 - (1.0 * 1.0 + 0.25 * 3.0)) / 1.25
    second = (4.0 * 4.0 + 1.0 * 9.0 - (4.0 * 2.0 + 1.0 * 1.0)) / 5.0
    both = (1.0 * 2.0 * 12.0 + 0.5 * 1.0 * 12.0) / (1.0 * 2.0 + 0.5 * 1.0)
    by_hand = np.array([[first, both], [both, second]])
    values, vectors = np.linalg.eigh(by_hand)
    kept = vectors @ np.diag(np.maximum(values, 0.0)) @ vectors.T
    assert _between(z, noise, weight) == pytest.approx(kept)
    assert _positive(np.diag([2.0, -1.0])) == pytest.approx(np.diag([2.0, 0.0]))
    assert _mixed(TRUE, np.eye(3), 0.25) == pytest.approx(0.75 * TRUE + 0.25 * np.eye(3))


def test_means_and_covariances_are_those_of_the_normal() -> None:
    """``S (S + R)^-1 z`` and ``S - S (S + R)^-1 S``; what nobody scored is told by the others."""
    z, noise = told(30)
    z[0, 1] = noise[0, 1] = np.nan
    found = join(z, noise, np.diag(TRUE), share=0.5)
    for i in (0, 7):
        heard = [k for k in range(3) if not np.isnan(z[i, k])]
        part = found.between[np.ix_(heard, heard)] + np.diag(noise[i, heard])
        gain = found.between[:, heard] @ np.linalg.inv(part)
        assert found.mean[i] == pytest.approx(gain @ z[i, heard], rel=1e-4)
        rest = found.between - gain @ found.between[heard]
        assert found.covariance[i] == pytest.approx(rest, abs=1e-4)
        assert found.own[i, heard] == pytest.approx([gain[k, at] for at, k in enumerate(heard)])
    alone = join(z, noise, np.diag(TRUE), share=1.0)
    assert alone.between == pytest.approx(np.diag(np.diag(TRUE)))
    assert alone.mean[7] == pytest.approx(z[7] * np.diag(TRUE) / (np.diag(TRUE) + noise[7]))


def test_a_density_is_that_of_the_normal_up_to_a_constant() -> None:
    z, noise = told(4)
    found = _log_density(z, TRUE, noise)
    exact = [
        stats.multivariate_normal(np.zeros(3), TRUE + np.diag(noise[i])).logpdf(z[i])
        for i in range(4)
    ]
    assert found - found[0] == pytest.approx(np.array(exact) - exact[0])


def test_few_samples_and_single_notes_are_left_to_themselves() -> None:
    z, noise = told(400)
    weight, alone = 1.0 / (np.diag(TRUE) + noise), np.diag(np.diag(TRUE))
    assert _best_share(z[:5], noise[:5], weight[:5], alone) == 1.0
    assert _best_share(z[:, :1], noise[:, :1], weight[:, :1], alone[:1, :1]) == 1.0
    assert _best_share(z, noise, weight, alone) == pytest.approx(3.0 / 403.0), "they go together"
    rng = np.random.default_rng(8)
    free = rng.normal(size=(20, 3)) * np.sqrt(np.diag(TRUE) + noise[:20])
    assert _best_share(free, noise[:20], weight[:20], alone) == 1.0
