"""What one more glass by each person tells of each note."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..array_types import Floats, Matrix, Vector
from ..profile import Profile
from ..profile.result import DescriptorFit
from ..profile.terms import ASSESSOR_SAMPLE

_UNKNOWN_NOISE = 100.0
"""Noise variance where there is no fit to go by: ten points a glass."""


@dataclass(frozen=True, eq=False)
class PanelNoise:
    """How each person reads each note.

    Attributes
    ----------
    assessors, notes
        Names of rows and columns.
    scale, noise
        Points for each point of the panel, and noise variance of a glass, shape (assessors,
        notes).
    disagreement
        Variance of the lasting opinion that somebody has of a sample, shape (notes,).
    """

    assessors: tuple[str, ...]
    notes: tuple[str, ...]
    scale: Matrix
    noise: Matrix
    disagreement: Vector

    def information(self, glasses: Floats) -> Floats:
        """What so many glasses of one sample tell, in 1 / points squared.

        ``g^2 / (disagreement + noise / n)``: however often somebody noses a sample, his lasting
        opinion of it stays.

        Parameters
        ----------
        glasses
            Shape (..., assessors, notes).

        Examples
        --------
        >>> one = np.ones((1, 1))
        >>> panel = PanelNoise(("A",), ("smoke",), one, 90.0 * one, np.array([10.0]))
        >>> [float(panel.information(n * one)[0, 0].round(4)) for n in (0, 1, 9)]
        [0.0, 0.01, 0.05]
        """
        n = np.asarray(glasses, dtype=np.float64)
        found: Floats = self.scale**2 * n / (self.disagreement * n + self.noise)
        return found

    def of(self, assessors: Sequence[str], notes: Sequence[str]) -> PanelNoise:
        """The same people and notes, or some of them, in another order."""
        rows = [self.assessors.index(name) for name in assessors]
        columns = [self.notes.index(name) for name in notes]
        pairs = np.ix_(rows, columns)
        return PanelNoise(
            tuple(assessors),
            tuple(notes),
            self.scale[pairs],
            self.noise[pairs],
            self.disagreement[columns],
        )


def panel_noise(
    profile: Profile | None, assessors: Sequence[str], notes: Sequence[str]
) -> PanelNoise:
    """How people read notes, by the fit; somebody new reads as the typical person does.

    Parameters
    ----------
    profile
        None before anything was nosed.
    """
    fits = {} if profile is None else {fit.descriptor: fit for fit in profile.fits}
    each = [_of_note(fits.get(note), assessors) for note in notes]
    return PanelNoise(
        tuple(assessors),
        tuple(notes),
        np.column_stack([scale for scale, _, _ in each]),
        np.column_stack([noise for _, noise, _ in each]),
        np.array([disagreement for _, _, disagreement in each]),
    )


def _of_note(fit: DescriptorFit | None, assessors: Sequence[str]) -> tuple[Vector, Vector, float]:
    if fit is None or fit.residual is None:
        return np.ones(len(assessors)), np.full(len(assessors), _UNKNOWN_NOISE), 0.0
    scale = np.array([fit.scale.get(name, 1.0) for name in assessors])
    noise = fit.residual * np.array([fit.noise.get(name, 1.0) for name in assessors])
    return scale, np.maximum(noise, 1e-6), fit.variances.get(ASSESSOR_SAMPLE, 0.0)
