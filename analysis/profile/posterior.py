"""What all descriptors together say of the samples, before and after the ends of the line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..array_types import Floats, Ints
from ..house_line import on_the_line
from .lines import OnTheLine


@dataclass(frozen=True)
class Latent:
    """The samples as they were estimated, before scores at the ends are put back on the line.

    Attributes
    ----------
    mean, covariance, common, between
        As in `Posterior`.
    order
        As in `Posterior`.
    rows, lines
        Of each descriptor: the samples that were scored on it, and what becomes of them.
    """

    mean: Floats
    covariance: Floats
    common: Floats
    between: Floats
    order: Floats
    rows: Sequence[Ints]
    lines: Sequence[OnTheLine]

    def sd(self, descriptor: int) -> Floats:
        """Standard error of each sample on one descriptor."""
        found: Floats = np.sqrt(
            self.covariance[:, descriptor, descriptor] + self.common[descriptor]
        )
        return found

    def on_line(self, descriptor: int) -> tuple[Floats, Floats]:
        """Expected score of each scored sample on one descriptor, and its standard error."""
        return self._on_line[descriptor]

    @cached_property
    def _on_line(self) -> Sequence[tuple[Floats, Floats]]:
        return [
            line.moments(self.mean[rows, k], self.sd(k)[rows])
            for k, (rows, line) in enumerate(zip(self.rows, self.lines, strict=True))
        ]

    def band(self, descriptor: int, level: float) -> tuple[Floats, Floats]:
        """Band of each scored sample that holds its expected score in a share `level` of cases."""
        rows = self.rows[descriptor]
        z, sd = self.mean[rows, descriptor], self.sd(descriptor)[rows]
        return self.lines[descriptor].band(z, sd, level)


@dataclass(frozen=True)
class Posterior:
    """Joint posterior of the samples over the descriptors.

    Attributes
    ----------
    samples, descriptors
        Names of rows and columns.
    mean
        Shape (samples, descriptors), not held to the line; missing where there is no estimate.
    covariance
        Of each sample's own error, shape (samples, descriptors, descriptors).
    common
        Variance of the error that all samples of a descriptor share, shape (descriptors,).
    between
        Covariance of the descriptors between samples.
    share
        How far it was drawn towards none; 1 means that each descriptor stands alone.
    order
        Part of each sample's own error that goes along with those of others of a descriptor: what
        not knowing better what the order of serving does adds for each of some unit normals, shape
        (samples, descriptors, normals). `covariance` holds it too.
    latent
        The same before the curve of the line; only notes with many scores at an end differ.
    foretold
        What covariates alone say of each sample, the mean sample where there are none, shape
        (samples, descriptors); missing of notes with many scores at an end.
    as_nosed
        The same of the day it was nosed, where it was moved to another.
    """

    samples: tuple[str, ...]
    descriptors: tuple[str, ...]
    mean: Floats
    covariance: Floats
    common: Floats
    between: Floats
    share: float
    order: Floats | None = None
    latent: Latent | None = None
    foretold: Floats | None = None
    as_nosed: Posterior | None = None

    def part(self, samples: Sequence[str], descriptors: Sequence[str]) -> tuple[Floats, Floats]:
        """Means and covariances of some samples and descriptors, the common error with them."""
        rows = places(self.samples, samples, "sample")
        columns = places(self.descriptors, descriptors, "descriptor")
        own = self.covariance[np.ix_(rows, columns, columns)]
        return self.mean[np.ix_(rows, columns)], own + np.diag(self.common[columns])

    def shared(self, descriptors: Sequence[str]) -> Floats:
        """Variance of the error that all samples share on some descriptors."""
        found: Floats = self.common[places(self.descriptors, descriptors, "descriptor")]
        return found

    def of_order(self, samples: Sequence[str], descriptors: Sequence[str]) -> Floats:
        """Part of the errors of some samples that goes along with those of others."""
        if self.order is None:
            return np.zeros((len(samples), len(descriptors), 0))
        rows = places(self.samples, samples, "sample")
        found: Floats = self.order[
            np.ix_(rows, places(self.descriptors, descriptors, "descriptor"))
        ]
        return found

    def apart(self, first: str, second: str) -> Floats:
        """Variance of the difference of two samples on each descriptor."""
        rows = places(self.samples, (first, second), "sample")
        own = np.diagonal(self.covariance[rows], axis1=1, axis2=2).sum(axis=0)
        order = self.of_order((first, second), self.descriptors)
        together = 2.0 * np.sum(order[0] * order[1], axis=1)
        found: Floats = np.maximum(own - together, 0.0)
        return found

    def draws(
        self, samples: Sequence[str], descriptors: Sequence[str], n: int, seed: int
    ) -> Floats:
        """Draw truths, shape (n, samples, descriptors), held to the line."""
        rows = places(self.samples, samples, "sample")
        columns = places(self.descriptors, descriptors, "descriptor")
        rng = np.random.default_rng(seed)
        order = self.of_order(samples, descriptors)
        own = self.covariance[np.ix_(rows, columns, columns)] - _diagonals(order)
        values, vectors = np.linalg.eigh(np.nan_to_num(own))
        root = vectors * np.sqrt(np.maximum(values, 0.0))[:, None, :]
        noise = rng.standard_normal((len(rows), len(columns), n))
        shared = rng.standard_normal((n, 1, len(columns))) * np.sqrt(self.common[columns])
        drawn = self.mean[np.ix_(rows, columns)] + np.moveaxis(root @ noise, 2, 0) + shared
        if order.any():
            drawn += np.einsum("mdk,sdk->msd", rng.standard_normal((n, *order.shape[1:])), order)
        found: Floats = on_the_line(drawn)
        return found


def _diagonals(order: Floats) -> Floats:
    found: Floats = np.sum(order**2, axis=2)[:, :, None] * np.eye(order.shape[1])
    return found


def places(known: Sequence[str], wanted: Sequence[str], what: str) -> Ints:
    """Places of wanted names among the known; a KeyError names what is not there."""
    place = {name: i for i, name in enumerate(known)}
    missing = [name for name in wanted if name not in place]
    if missing:
        raise KeyError(f"no {what} {', '.join(missing)} in this profile")
    return np.array([place[name] for name in wanted], dtype=np.intp)
