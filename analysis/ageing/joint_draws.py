"""Joint draws of all descriptors of a cask at any age."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analysis.ageing.settings import AgeingSettings
from analysis.ageing.states import Known
from analysis.influences import NoteFit
from analysis.influences.layout import Codes, Matrix, Stack

LEAST_SHARED = 8
"""Casks read on both of two descriptors before they are held to go together at all."""


class JointDraws:
    """Ways and deviations drawn once, for every cask alike.

    Parameters
    ----------
    fits
        The descriptors that are drawn together.
    stock
        The casks.
    """

    def __init__(
        self, fits: Sequence[NoteFit], stock: pd.DataFrame, settings: AgeingSettings, seed: int
    ) -> None:
        self.known = [Known.of_casks(fit, stock) for fit in fits]
        rng = np.random.default_rng(seed)
        root = np.linalg.cholesky(together(fits, settings.shared))
        most = max(known.means.shape[2] for known in self.known)
        free = rng.standard_normal((most, settings.n_draws, len(fits)))
        self.deviations: Stack = np.asarray(free @ root.T, dtype=np.float64)
        self.ways: list[Codes] = [
            rng.choice(len(known.weights), settings.n_draws, p=known.weights).astype(np.intp)
            for known in self.known
        ]

    def values(self, places: Codes, ages: Matrix) -> Stack:
        """Some casks at some ages, kept on the line.

        Parameters
        ----------
        places
            Rows of the stock, shape (k,).
        ages
            Ages of each, shape (k, ages).

        Returns
        -------
        numpy.ndarray
            Shape (descriptors, k, draws, ages).
        """
        found = np.empty((len(self.known), len(places), self.deviations.shape[1], ages.shape[1]))
        for d, part in enumerate(found):
            self._of_note(d, places, ages, part)
        return found

    def _of_note(self, d: int, places: Codes, ages: Matrix, out: Stack) -> None:
        known, ways = self.known[d], self.ways[d]
        free = self.deviations[: known.means.shape[2], :, d].T
        for way in np.unique(ways):
            rows = np.flatnonzero(ways == way)
            spread = free[rows] @ known.roots[way, places].transpose(0, 2, 1)
            traits = known.means[way, places][:, None, :] + spread
            bases = known.bases(known.fit.note.ways[way].way, places, ages)
            out[:, rows] = traits @ bases.transpose(0, 2, 1)
        np.clip(out + known.fit.note.centre, 0.0, 100.0, out=out)


def together(fits: Sequence[NoteFit], shared: float) -> Matrix:
    """Correlation of the casks' own deviations over the descriptors.

    From readings foretold without their cask, averaged cask by cask; what is found is shrunk by
    `shared` towards none, and made a proper correlation.
    """
    table = pd.DataFrame(
        {
            d: pd.Series(fit.residual).groupby(fit.draws["cask"].to_numpy()).mean()
            for d, fit in enumerate(fits)
        }
    )
    found = table.corr(min_periods=LEAST_SHARED).fillna(0.0).to_numpy(dtype=np.float64)
    mixed = shared * found + (1.0 - shared) * np.eye(len(fits))
    np.fill_diagonal(mixed, 1.0)
    values, vectors = np.linalg.eigh(mixed)
    proper = vectors * np.maximum(values, 1e-6) @ vectors.T
    scale = 1.0 / np.sqrt(np.diag(proper))
    return np.asarray(proper * scale[:, None] * scale, dtype=np.float64)
