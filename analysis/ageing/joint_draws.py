"""Joint draws of all descriptors of a cask at any age."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.ageing.settings import AgeingSettings
from analysis.ageing.states import Known
from analysis.array_types import Codes, Matrix, Stack
from analysis.house_line import HIGH, LOW
from analysis.influences import NoteFit
from analysis.influences.together import together


class JointDraws:
    """Ways, deviations and the error that all readings share, drawn once for every cask alike.

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
        common = np.sqrt([fit.common for fit in fits])
        self.shared: Matrix = rng.standard_normal((settings.n_draws, len(fits))) * common
        self.ways: list[Codes] = [
            rng.choice(len(known.weights), settings.n_draws, p=known.weights).astype(np.intp)
            for known in self.known
        ]

    def each(self, places: Codes, ages: Matrix) -> Iterator[NDArray[np.float32]]:
        """Some casks at some ages, one descriptor after the other, kept on the line.

        Parameters
        ----------
        places
            Rows of the stock, shape (k,).
        ages
            Ages of each, shape (k, ages).

        Yields
        ------
        numpy.ndarray
            Shape (k, draws, ages); single precision is ample for a chance.
        """
        for known, ways, deviations, shared in zip(
            self.known, self.ways, self.deviations.transpose(2, 1, 0), self.shared.T, strict=True
        ):
            found = _of_note(known, ways, deviations, places, ages)
            found += shared.astype(np.float32)[:, None]
            yield np.clip(found, LOW, HIGH, out=found)


def _of_note(
    known: Known, ways: Codes, deviations: Matrix, places: Codes, ages: Matrix
) -> NDArray[np.float32]:
    free = deviations[:, : known.means.shape[2]]
    found = np.empty((len(places), len(ways), ages.shape[1]), dtype=np.float32)
    for way in np.unique(ways):
        rows = np.flatnonzero(ways == way)
        spread = free[rows] @ known.roots[way, places].transpose(0, 2, 1)
        traits = (known.means[way, places][:, None, :] + spread).astype(np.float32)
        bases = known.bases(known.fit.note.ways[way].way, places, ages).astype(np.float32)
        found[:, rows] = traits @ bases.transpose(0, 2, 1)
    found += np.float32(known.fit.note.centre)
    return found
