"""Traits of styles and casks as the models know them, ready to be put at any age."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..array_types import Codes, Matrix, Stack, Vector
from ..influences import NoteFit
from ..influences.note_model import States, mixture
from ..influences.terms import Points, Way


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
    def of_styles(cls, fit: NoteFit, styles: pd.DataFrame) -> Known:
        """The average cask of each style."""
        note = fit.note
        points = Points.of(styles, note.terms.levels)
        return cls(fit, points, tuple(note.style_states(way, points) for way in note.ways))

    @property
    def weights(self) -> Vector:
        """Weight of each way."""
        return np.array([part.weight for part in self.fit.note.ways])

    def bases(self, way: Way, places: Codes, ages: Matrix) -> Stack:
        """What a point of each trait counts for some casks at some ages.

        `ages` has shape (casks, ages), the answer (casks, ages, traits).
        """
        ppm = np.broadcast_to(self.points.phenol_ppm[places][:, None], ages.shape)
        found = self.fit.note.terms.bases(way, ages.ravel(), ppm.ravel())
        return found.reshape(*ages.shape, -1)

    def at(self, place: int, ages: Vector, *, of_one_cask: bool = False) -> tuple[Vector, Vector]:
        """Mean and standard deviation of one cask or style at some ages.

        The error that all readings share is in it. With `of_one_cask` what is particular to a
        cask is added to a style's uncertainty.
        """
        found = []
        for part, states in zip(self.fit.note.ways, self.states, strict=True):
            bases = self.bases(part.way, np.array([place]), ages[None, :])[0]
            covariance = states.covariance[place]
            if of_one_cask:
                own = np.diag(part.solution.own_prior) * self.fit.note.inflation**2
                covariance = covariance + own
            variance = np.einsum("il,lk,ik->i", bases, covariance, bases)
            found.append((part.weight, bases @ states.mean[place], variance))
        mean, sd = mixture(found)
        return self.fit.note.centre + mean, np.sqrt(sd**2 + self.fit.common)
