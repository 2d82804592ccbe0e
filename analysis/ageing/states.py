"""Traits of styles and casks as the models know them, ready to be put at any age."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..array_types import Matrix
from ..influences import NoteFit
from ..influences.note_model import States, mixture
from ..influences.terms import Groups, Points


@dataclass(frozen=True)
class Known:
    """Traits of some casks on one descriptor, way by way, all at once."""

    fit: NoteFit
    points: Points
    states: tuple[States, ...]

    @classmethod
    def of_casks(cls, fit: NoteFit, stock: pd.DataFrame) -> Known:
        """Single casks, as their own draws and their like tell."""
        note = fit.note
        points = Points.of(stock, note.terms.levels)
        units = note.unit_codes(list(stock["filling"]))
        return cls(fit, points, tuple(note.states(way, points, units) for way in note.ways))

    @classmethod
    def of_styles(cls, fit: NoteFit, styles: pd.DataFrame, groups: Groups) -> Known:
        """The average cask of each style; `groups` are the styles' own."""
        note = fit.note
        points = Points.of(styles, note.terms.levels, groups)
        return cls(fit, points, tuple(note.style_states(way, points) for way in note.ways))

    def at(self, ages: Matrix, *, of_one_cask: bool = False) -> tuple[Matrix, Matrix]:
        """Mean and standard deviation of every cask or style at ages of its own.

        `ages` has shape (casks, ages), and so have the answers. The error that all readings share
        is in it. With `of_one_cask` what is particular to a cask is added to a style's
        uncertainty.
        """
        note, n = self.fit.note, ages.size
        ppm = np.repeat(self.points.phenol_ppm, ages.shape[1])
        found = []
        for part, states in zip(note.ways, self.states, strict=True):
            bases = note.terms.bases(part.way, ages.ravel(), ppm).reshape(*ages.shape, -1)
            covariance = states.covariance
            if of_one_cask:
                covariance = covariance + np.diag(part.solution.own_prior) * note.inflation**2
            variance = ((bases @ covariance) * bases).sum(axis=2)
            mean = (bases @ states.mean[:, :, None])[:, :, 0]
            found.append((part.weight, mean.reshape(n), variance.reshape(n)))
        mean, sd = mixture(found)
        whole = np.sqrt(sd**2 + self.fit.common)
        return (note.centre + mean).reshape(ages.shape), whole.reshape(ages.shape)
