"""The columns that factors are tested by, one row a filling."""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..array_types import Matrix, Vector
from .factors import Factor
from .terms import group_keys, peat_varies

TIME_CONSTANT = 8.0
"""Years; one fixed curve of age, so that choosing the best of several does not count as finding."""
HALF_LIFE = 20.0
"""Years; weak guess of how smoke fades, fixed for the same reason."""
COMMON_FILL = "fill in any wood"
"""Fill numbers alike in all woods: what stands beside a wood, or only first fills would tell it."""


def factor_columns(fillings: pd.DataFrame) -> dict[str, Matrix]:
    """Columns of each factor that varies, centred; fill numbers within each wood."""
    keys = group_keys(fillings)
    age = fillings["age_years"].to_numpy(dtype=np.float64)
    later = keys["wood_fill"].where(fillings["fill_number"] > _first_fill(fillings), "")
    found: dict[str, Matrix] = {
        Factor.WOOD: _indicators(keys["wood"]),
        Factor.FILL: _indicators(later),
        COMMON_FILL: _indicators(keys["fill"]),
        Factor.PREVIOUS: _indicators(keys["previous"]),
        Factor.WAREHOUSE: _indicators(keys["warehouse"]),
        Factor.MAKE: _indicators(keys["make"]),
        Factor.AGE: -np.expm1(-age / TIME_CONSTANT)[:, None],
        Factor.FILL_STRENGTH: fillings["fill_abv"].to_numpy(dtype=np.float64)[:, None],
    }
    if peat_varies(fillings["phenol_ppm"]):
        ppm = fillings["phenol_ppm"].to_numpy(dtype=np.float64)
        found[Factor.PHENOLS] = (np.sqrt(ppm) * np.exp2(-age / HALF_LIFE))[:, None]
    centred = {name: part - part.mean(axis=0) for name, part in found.items()}
    return {name: part for name, part in centred.items() if (part**2).sum() > 1e-9}


def _first_fill(fillings: pd.DataFrame) -> pd.Series:
    """The lowest fill number nosed of each wood."""
    least: pd.Series = fillings.groupby("wood")["fill_number"].transform("min")
    return least


def _indicators(groups: pd.Series) -> Matrix:
    levels = sorted({str(level) for level in groups.dropna()})
    text = groups.astype(str)
    found: Matrix = (text.to_numpy()[:, None] == np.array(levels, dtype=object)).astype(np.float64)
    return found


def kinds_of_peat(ppm: pd.Series) -> int:
    """How many amounts of phenols the makes have."""
    return len(set(ppm.dropna().round(3)))


def independent(x: Matrix) -> Matrix:
    """Columns that are not made up of those before them."""
    kept: list[Vector] = []
    for column in x.T:
        length = float(np.linalg.norm(column))
        left = column.copy()
        for unit in kept:
            left = left - unit * float(unit @ left)
        if length > 0 and np.linalg.norm(left) > 1e-6 * length:
            kept.append(left / np.linalg.norm(left))
    found: Matrix = np.column_stack(kept)
    return found
