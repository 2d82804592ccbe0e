"""Descriptors of one sample inform each other: the second stage.

Each descriptor's fit shrinks a sample as if the other notes were silent. Undone, it is what the
scores alone say of the sample: ``z`` with noise variance ``r``. Over the samples
``z ~ N(0, S + diag r)``; with S known, sample i is::

    S (S + diag r_i)^-1 z_i         covariance S - S (S + diag r_i)^-1 S

S is the moment estimate of the covariance, its negative part cut off, drawn towards the
diagonal of the single fits by a share that predicts samples left out best.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..array_types import Matrix, Vector

MULTIPLES = (1.0, 0.25, 0.5, 2.0, 4.0, 8.0, np.inf)
"""Shares that are tried, as odds over those of the default, which comes first."""
_FOLDS = 5
_FEWEST = 6
"""Samples below which the descriptors are left to themselves."""


@dataclass(frozen=True)
class Joint:
    """Joint means and covariances, shapes (samples, d) and (samples, d, d).

    Attributes
    ----------
    between
        ``S``, the covariance of the notes between samples.
    share
        ``lam``; 1 means that each note stands alone.
    own
        How each mean moves with what its own scores say, (samples, d).
    """

    mean: Matrix
    covariance: Matrix
    between: Matrix
    share: float
    own: Matrix


def join(told: Matrix, noise: Matrix, prior: Vector, share: float | None = None) -> Joint:
    """Estimate the samples jointly.

    Parameters
    ----------
    told, noise
        What the scores alone say of each sample, and its noise variance, shapes (samples, d).
        Missing where nothing was scored.
    prior
        Variance between samples of each descriptor by its own fit, shape (d,).
    share
        How far ``S`` is drawn towards the diagonal; estimated when not given.
    """
    unheard = np.isnan(told)
    alone = np.diag(np.maximum(prior, 1e-6 * np.nanmean(noise, axis=0)))
    z = np.where(unheard, 0.0, told)
    noise = np.where(unheard, 1e9 * np.diag(alone), noise)
    weight = np.where(unheard, 0.0, 1.0 / (np.diag(alone) + noise))
    if share is None:
        share = _best_share(z, noise, weight, alone)
    between = _mixed(_between(z, noise, weight), alone, share)
    gain = between @ np.linalg.inv(between + _diagonals(noise))
    covariance = between - gain @ between
    own = np.diagonal(gain, axis1=1, axis2=2)
    return Joint((gain @ z[:, :, None])[:, :, 0], covariance, between, share, own)


def _between(z: Matrix, noise: Matrix, weight: Matrix) -> Matrix:
    """Moment estimate of ``S``, samples weighted by how well they are known."""
    weighted = weight * z
    total = np.maximum(weight.T @ weight, 1e-300)
    found = weighted.T @ weighted / total
    each = np.arange(z.shape[1])
    found[each, each] -= np.sum(weight**2 * noise, axis=0) / total[each, each]
    return _positive(found)


def _positive(matrix: Matrix) -> Matrix:
    values, vectors = np.linalg.eigh(matrix)
    found: Matrix = (vectors * np.maximum(values, 0.0)) @ vectors.T
    return found


def _mixed(between: Matrix, alone: Matrix, share: float) -> Matrix:
    found: Matrix = (1.0 - share) * between + share * alone
    return found


def _diagonals(noise: Matrix) -> Matrix:
    found: Matrix = noise[:, :, None] * np.eye(noise.shape[1])
    return found


def _best_share(z: Matrix, noise: Matrix, weight: Matrix, alone: Matrix) -> float:
    """The default share, unless samples left out are surely likelier under another."""
    n, d = z.shape
    if n < _FEWEST or d == 1:
        return 1.0
    odds = np.array(MULTIPLES) * d / n
    shares = np.append(odds[:-1] / (1.0 + odds[:-1]), 1.0)
    fold = np.random.default_rng(5).permutation(n) % _FOLDS
    logs = np.zeros((n, len(shares)))
    for part in range(_FOLDS):
        out, kept = fold == part, fold != part
        between = _between(z[kept], noise[kept], weight[kept])
        for k, share in enumerate(shares):
            logs[out, k] = _log_density(z[out], _mixed(between, alone, share), noise[out])
    gain = logs - logs[:, :1]
    error = gain.std(axis=0, ddof=1) * np.sqrt(n)
    sure = np.where(gain.sum(axis=0) > error, gain.sum(axis=0), 0.0)
    return float(shares[int(sure.argmax())])


def _log_density(z: Matrix, between: Matrix, noise: Matrix) -> Vector:
    factor = np.linalg.cholesky(between + _diagonals(noise))
    white = np.linalg.solve(factor, z[:, :, None])[:, :, 0]
    logs: Vector = np.log(np.diagonal(factor, axis1=1, axis2=2)).sum(axis=1)
    found: Vector = -logs - 0.5 * np.sum(white**2, axis=1)
    return found
