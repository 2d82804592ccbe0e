"""From a profile's estimates back to what was read of each draw, with its noise.

An estimate of a profile is drawn towards the mean of all casks, the more the less a cask was
nosed; to explain such estimates by wood and age would find too little. So the pull is undone:
with prior covariance P of the draws of one filling and posterior variances `v`, the noise
variances `r` solve ``diag((P^-1 + diag(1/r))^-1) = v`` and the readings are ``z = (I + diag(r)
P^-1) (estimate - m)``, the sign of the pull reversed. For a single draw that is ``z = m +
(estimate - m) / rel``, ``rel = 1 - v / p`` (the deregression of animal breeders: Garrick, Taylor
& Fernando 2009).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.influences.layout import Codes, Matrix, Vector
from analysis.profile import Profile
from analysis.profile.result import DescriptorFit

LEAST_RELIABILITY = 0.02
"""A draw whose estimate says less than this is held at it: its noise stays finite."""
_STEPS = 60


@dataclass(frozen=True)
class Spread:
    """Prior variances of one descriptor: between fillings, and between draws of one."""

    fillings: float
    draws: float

    @classmethod
    def of(cls, fit: DescriptorFit) -> Spread | None:
        """Read them from a fit; None where casks were not found to differ."""
        fillings = fit.variances.get("filling", 0.0)
        own = fit.variances.get("sample", 0.0)
        own += fit.variances.get("assessor_sample", 0.0) / max(len(fit.panel), 1)
        return cls(fillings, own) if fillings + own > 1e-6 else None

    def covariance(self, n_draws: int) -> Matrix:
        """Prior covariance of the draws of one filling."""
        return np.full((n_draws, n_draws), self.fillings) + np.eye(n_draws) * self.draws


def read_back(profile: Profile) -> pd.DataFrame:
    """Return what was read of each draw: `sample, descriptor, reading, noise_variance`.

    Descriptors without a fit, or on which no cask differs from another, have no rows.
    """
    parts = [
        _of_descriptor(rows, spread)
        for fit in profile.fits
        if (spread := Spread.of(fit)) is not None
        and len(rows := _known(profile.estimates, fit.descriptor))
    ]
    columns = ["sample", "descriptor", "reading", "noise_variance"]
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=columns)


def _known(estimates: pd.DataFrame, descriptor: str) -> pd.DataFrame:
    rows = estimates[(estimates["descriptor"] == descriptor) & (estimates["component"] == 0)]
    return rows[rows["se"].notna() & rows["estimate"].notna()]


def _of_descriptor(rows: pd.DataFrame, spread: Spread) -> pd.DataFrame:
    estimate = rows["estimate"].to_numpy(dtype=np.float64)
    variance = rows["se"].to_numpy(dtype=np.float64) ** 2
    mean = float(estimate.mean())
    group = pd.factorize(rows["filling"].fillna(rows["sample"]))[0]
    reading, noise = deregress(estimate - mean, variance, group, spread)
    return pd.DataFrame(
        {
            "sample": rows["sample"].to_numpy(),
            "descriptor": rows["descriptor"].to_numpy(),
            "reading": mean + reading,
            "noise_variance": noise,
        }
    )


def deregress(
    deviation: Vector, variance: Vector, group: Codes, spread: Spread
) -> tuple[Vector, Vector]:
    """Undo the pull towards zero of draws that share fillings.

    Parameters
    ----------
    deviation, variance
        Posterior means and variances, shape (n,).
    group
        Filling of each draw, codes from 0.
    spread
        The prior they were drawn towards.

    Returns
    -------
    tuple of numpy.ndarray
        Readings and the variances of their noise.

    Examples
    --------
    >>> one = np.array([0])
    >>> reading, noise = deregress(np.array([6.0]), np.array([20.0]), one, Spread(0.0, 80.0))
    >>> reading.round(9).tolist(), noise.round(6).tolist()
    ([8.0], [26.666667])
    """
    reading, noise = np.empty_like(deviation), np.empty_like(deviation)
    order = np.argsort(group, kind="stable")
    _, starts, counts = np.unique(group[order], return_index=True, return_counts=True)
    for size in np.unique(counts):
        rows = order[starts[counts == size][:, None] + np.arange(size)]
        inverse = np.asarray(np.linalg.inv(_settled(spread, int(size))), dtype=np.float64)
        r = 1.0 / _precision(inverse, variance[rows])
        reading[rows] = deviation[rows] + r * (deviation[rows] @ inverse)
        noise[rows] = r
    return reading, noise


def _settled(spread: Spread, size: int) -> Matrix:
    """Prior covariance, never quite singular (draws of a filling need not differ at all)."""
    least = 1e-4 * spread.fillings if size > 1 else 0.0
    return Spread(spread.fillings, max(spread.draws, least)).covariance(size)


def _precision(inverse: Matrix, variance: Matrix) -> Matrix:
    """Precision of the noise that turns the prior into these posterior variances."""
    size = len(inverse)
    prior = float(np.linalg.inv(inverse)[0, 0])
    most = 1.0 - LEAST_RELIABILITY
    aimed = np.minimum(variance, most * prior)
    t: Matrix = np.maximum(1.0 / aimed - 1.0 / prior, 1e-12)
    if size == 1:
        return t
    least = (1.0 / most - 1.0) / prior
    for _ in range(_STEPS):
        posterior = np.linalg.inv(inverse + t[:, :, None] * np.eye(size))
        over = np.einsum("gii->gi", posterior) - aimed
        step = np.linalg.solve(posterior**2, over[:, :, None])[:, :, 0]
        # A precision that would fall below the least stays there; none moves too far at once.
        t = np.maximum(np.clip(t + step, 0.2 * t, 5.0 * t), least)
        if np.abs(step / t).max() < 1e-9:
            break
    return t
