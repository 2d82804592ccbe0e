"""From a profile's estimates back to what was read of each draw, with its noise.

An estimate of a profile is drawn towards the mean of all casks, the more the less a cask was
nosed, and towards what its other notes and the other draws of its filling let expect; to explain
such estimates by wood and age would find too little. So every pull is undone.

* Over the notes of a sample: with posterior covariance ``C``, prior ``S`` and deviation `d` from
  the mean, the noise variances are the diagonal of ``(C^-1 - S^-1)^-1`` and what was told is
  that times ``C^-1 d``.
* Over the draws of a filling: with prior ``P`` and posterior variances `v` the noise `r` solves
  ``diag((P^-1 + diag(1/r))^-1) = v`` and the readings are ``d + diag(r) P^-1 d``.

For one note and one draw both are ``d / rel``, ``rel = 1 - v / p`` (the deregression of animal
breeders: Garrick, Taylor & Fernando 2009).

A note with many scores at an end of the line was pulled before it was put back on the line, where
the same pull is no longer the same number of points. What it did to other notes is undone before
the line, its own readings on the line and from itself alone. Plain means were pulled nowhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..array_types import Codes, Matrix, Vector
from ..errors import InputError
from ..profile import Profile
from ..profile.ends import ReadAs
from ..profile.posterior import Latent, Posterior, places
from ..profile.result import DescriptorFit

LEAST_RELIABILITY = 0.02
"""A draw whose estimate says less than this is held at it: its noise stays finite."""
_LEAST_NOISE = 1e-6
_STEPS = 60
_MEAN_STEPS = 3


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

    def scaled(self, total: float) -> Spread:
        """The same shares of another variance."""
        return Spread(self.fillings * total / self.total, self.draws * total / self.total)

    @property
    def total(self) -> float:
        """Prior variance of one draw."""
        return self.fillings + self.draws

    def covariance(self, n_draws: int) -> Matrix:
        """Prior covariance of the draws of one filling."""
        return np.full((n_draws, n_draws), self.fillings) + np.eye(n_draws) * self.draws


@dataclass(frozen=True)
class _Told:
    """What the scores alone say, samples by descriptors: value and noise variance."""

    value: Matrix
    noise: Matrix


def read_back(profile: Profile) -> pd.DataFrame:
    """Return what was read of each draw: `sample, descriptor, reading, noise_variance`.

    Descriptors without a fit, or on which no cask differs from another, have no rows.

    Raises
    ------
    InputError
        The profile was drawn towards covariates: they would be counted twice.
    """
    if any(fit.effects for fit in profile.fits):
        raise InputError(
            "This profile leans on covariates already; give one that was estimated without them."
        )
    held = profile.posterior
    told = None if held is None else _told(held.latent or held)
    parts = [
        _of_descriptor(profile, fit, spread, told)
        for fit in profile.fits
        if (spread := Spread.of(fit)) is not None
    ]
    parts = [part for part in parts if len(part)]
    columns = ["sample", "descriptor", "reading", "noise_variance"]
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=columns)


def _told(posterior: Posterior | Latent) -> _Told:
    """Undo what the notes of a sample did to each other.

    The mean that they were drawn to is the one that what they tell has itself.
    """
    mean = posterior.mean
    fixed = np.nanmean(np.where(np.isnan(mean).all(axis=0), 0.0, mean), axis=0)
    between = np.diag(posterior.between)
    for _ in range(_MEAN_STEPS):
        told = _told_about(posterior, fixed)
        weight = np.where(np.isnan(told.value), 0.0, 1.0 / (between + told.noise))
        total = weight.sum(axis=0)
        sums = (weight * np.nan_to_num(told.value)).sum(axis=0)
        fixed = np.where(total > 0, sums / np.where(total > 0, total, 1.0), fixed)
    return _told_about(posterior, fixed)


def _told_about(posterior: Posterior | Latent, fixed: Vector) -> _Told:
    """What the scores alone say where everything was drawn to the means `fixed`."""
    value = np.full(posterior.mean.shape, np.nan)
    noise = np.full(posterior.mean.shape, np.inf)
    usable = ~np.isnan(posterior.mean) & (np.diag(posterior.between) > 1e-9)
    patterns, which = np.unique(usable, axis=0, return_inverse=True)
    for number, scored in enumerate(patterns):
        rows, notes = np.flatnonzero(which == number), np.flatnonzero(scored)
        if not len(notes):
            continue
        prior = np.linalg.inv(posterior.between[np.ix_(notes, notes)])
        known = np.linalg.inv(posterior.covariance[np.ix_(rows, notes, notes)])
        precision = np.einsum("gii->gi", known) - np.diag(prior)
        least = LEAST_RELIABILITY / np.diag(posterior.between)[notes]
        precision = np.maximum(precision, least)
        off = posterior.mean[np.ix_(rows, notes)] - fixed[notes]
        told = np.einsum("gij,gj->gi", known, off) / precision
        value[np.ix_(rows, notes)] = fixed[notes] + told
        noise[np.ix_(rows, notes)] = 1.0 / precision
    return _Told(value, noise)


def _of_descriptor(
    profile: Profile, fit: DescriptorFit, spread: Spread, told: _Told | None
) -> pd.DataFrame:
    rows = _known(profile.estimates, fit.descriptor)
    if rows.empty:
        return pd.DataFrame()
    if fit.reading is not ReadAs.AS_WRITTEN:
        return _of_itself(profile, fit, spread, rows)
    variance = rows["se"].to_numpy(dtype=np.float64) ** 2
    estimate = rows["estimate"].to_numpy(dtype=np.float64)
    mean, inflation = float(estimate.mean()), 1.0
    deviation = estimate - mean
    if told is not None and profile.posterior is not None:
        inflation = fit.inflation or 1.0
        k = profile.posterior.descriptors.index(fit.descriptor)
        place = {name: i for i, name in enumerate(profile.posterior.samples)}
        at = [place[name] for name in rows["sample"]]
        noise = told.noise[at, k] / inflation
        rel = spread.total / (spread.total + noise)
        mean = float(np.average(told.value[at, k], weights=rel))
        deviation, variance = rel * (told.value[at, k] - mean), spread.total * (1.0 - rel)
    group = pd.factorize(rows["filling"].fillna(rows["sample"]))[0]
    reading, noise_variance = deregress(deviation, variance, group, spread)
    return pd.DataFrame(
        {
            "sample": rows["sample"].to_numpy(),
            "descriptor": fit.descriptor,
            "reading": mean + reading,
            "noise_variance": inflation * noise_variance,
        }
    )


def _of_itself(
    profile: Profile, fit: DescriptorFit, spread: Spread, rows: pd.DataFrame
) -> pd.DataFrame:
    """Readings on the line of a note that was not estimated on it."""
    estimate = rows["estimate"].to_numpy(dtype=np.float64)
    variance = rows["se"].to_numpy(dtype=np.float64) ** 2
    noise = np.maximum(variance * _own_share(profile, fit, rows), _LEAST_NOISE)
    reading = estimate
    if fit.reading is ReadAs.BELOW:
        group = pd.factorize(rows["filling"].fillna(rows["sample"]))[0]
        on_line = spread.scaled(float(np.var(estimate) + np.mean(noise)))
        off, noise = deregress(estimate - estimate.mean(), noise, group, on_line)
        reading = estimate.mean() + off
    return pd.DataFrame(
        {
            "sample": rows["sample"].to_numpy(),
            "descriptor": fit.descriptor,
            "reading": reading,
            "noise_variance": noise,
        }
    )


def _own_share(profile: Profile, fit: DescriptorFit, rows: pd.DataFrame) -> Vector:
    """Share of each error that is the sample's own.

    Near an end of the line the curve takes as much off what all samples share as off the rest.
    """
    held = profile.posterior
    if held is None:
        return np.ones(len(rows))
    latent, k = held.latent or held, held.descriptors.index(fit.descriptor)
    at = places(held.samples, rows["sample"].tolist(), "sample")
    own = latent.covariance[at, k, k]
    found: Vector = own / (own + latent.common[k])
    return found


def _known(estimates: pd.DataFrame, descriptor: str) -> pd.DataFrame:
    rows = estimates[(estimates["descriptor"] == descriptor) & (estimates["component"] == 0)]
    return rows[rows["se"].notna() & rows["estimate"].notna()]


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
