"""How the notes of casks go together beyond what wood, age and peat make of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from ..array_types import Matrix
from .note_fits import NoteFit

LEAST_SHARED = 8
"""Casks read on both of two descriptors before they are held to go together at all."""
SHARED = 0.7
"""Part of what is found that is believed, the rest being taken as independent: few casks
overstate it."""


def together(fits: Sequence[NoteFit], shared: float = SHARED) -> Matrix:
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
