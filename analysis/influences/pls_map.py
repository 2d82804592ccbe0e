"""A map of descriptors and influences by partial least squares: to look at, not to reckon with.

Directions are sought in which what is known of the draws and what was read of them move together
(partial least squares, SIMPLS and NIPALS alike for what is shown here; scikit-learn). A place on
the map is a correlation with a direction: things that lie the same way go together, things near
the middle are not on this map. Which goes with which is all it says; sizes and their
uncertainty are in the effects.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from ..array_types import Codes, Matrix
from ..as_json import AsJson
from .terms import peat_varies

MOST_COMPONENTS = 3
FOLDS = 10
LEAST_DRAWS = 15
LEAST_DRAWS_A_WOOD = 3
LEAST_SHARE = 0.6
"""A descriptor read on fewer of the draws is not on the map."""


@dataclass(frozen=True)
class Place:
    """Where an influence or a descriptor lies: its correlation with each direction."""

    name: str
    at: tuple[float, ...]


@dataclass(frozen=True)
class Map(AsJson):
    """Descriptors and influences on one to three directions.

    Attributes
    ----------
    explained
        Share of the descriptors' variance that the directions up to each account for.
    q2
        The same for draws of casks left out, averaged over descriptors.
    """

    influences: tuple[Place, ...]
    descriptors: tuple[Place, ...]
    explained: tuple[float, ...]
    q2: tuple[float, ...]
    n_draws: int

    json_also = ("n_components",)

    @property
    def n_components(self) -> int:
        """Number of directions: as many as help with casks left out, and one at least."""
        return len(self.explained)


def draw_map(draws: pd.DataFrame, readings: pd.DataFrame) -> Map | None:
    """Lay out descriptors and influences; None with too few draws or descriptors.

    Parameters
    ----------
    draws
        Draws that can be explained.
    readings
        ``sample, descriptor, reading``.
    """
    wide = readings.pivot(index="sample", columns="descriptor", values="reading")
    wide = wide.reindex(draws["sample"])
    wide = wide.loc[:, wide.notna().mean() >= LEAST_SHARE]
    whole = wide.notna().all(axis=1).to_numpy()
    if whole.sum() < LEAST_DRAWS or wide.shape[1] < 2:
        return None
    known = draws[whole].reset_index(drop=True)
    x = map_columns(known)
    y = wide[whole].reset_index(drop=True)
    y = y.loc[:, y.std() > 1e-9]
    if x.shape[1] < 2 or y.shape[1] < 2:
        return None
    most = min(MOST_COMPONENTS, x.shape[1], y.shape[1])
    casks = pd.factorize(known["cask"])[0].astype(np.intp)
    q2 = [_q2(x.to_numpy(), y.to_numpy(), casks, n) for n in range(1, most + 1)]
    return _laid_out(x, y, q2[: int(np.argmax(q2)) + 1])


def map_columns(draws: pd.DataFrame) -> pd.DataFrame:
    """What is known of the draws, as columns of numbers."""
    columns: dict[str, Any] = {
        str(wood): (draws["wood"] == wood).astype("float64")
        for wood, count in draws["wood"].value_counts().sort_index().items()
        if LEAST_DRAWS_A_WOOD <= count < len(draws)
    }
    columns["age"] = draws["age_years"]
    columns["fill number"] = draws["fill_number"].astype("float64")
    if peat_varies(draws["phenol_ppm"]):
        columns["phenols of the malt"] = np.sqrt(draws["phenol_ppm"])
    columns["fill strength"] = draws["fill_abv"]
    frame = pd.DataFrame(columns)
    return frame.loc[:, frame.std() > 1e-9]


def fit_pls(x: Matrix, y: Matrix, n_components: int) -> Any:
    """Fit partial least squares on standardised columns (scikit-learn's estimator)."""
    from sklearn.cross_decomposition import PLSRegression

    # Its directions are found by iteration; the usual tolerance stops at four digits.
    return PLSRegression(n_components, scale=True, tol=1e-14, max_iter=10_000).fit(x, y)


def _q2(x: Matrix, y: Matrix, casks: Codes, n_components: int) -> float:
    """Share of variance foretold in casks left out, a tenth of them at a time."""
    fold = casks % FOLDS
    squares, total = np.zeros(y.shape[1]), np.zeros(y.shape[1])
    for part in range(FOLDS):
        out = fold == part
        if not out.any() or (x[~out].std(axis=0) < 1e-9).any():
            continue
        foretold = fit_pls(x[~out], y[~out], n_components).predict(x[out])
        squares += ((y[out] - foretold) ** 2).sum(axis=0)
        total += ((y[out] - y[~out].mean(axis=0)) ** 2).sum(axis=0)
    return float(1.0 - (squares / np.maximum(total, 1e-12)).mean())


def _laid_out(x: pd.DataFrame, y: pd.DataFrame, q2: list[float]) -> Map:
    n = len(q2)
    fitted = fit_pls(x.to_numpy(), y.to_numpy(), n)
    scores = fitted.x_scores_
    explained = [
        1.0
        - _share_left(y.to_numpy(), fit_pls(x.to_numpy(), y.to_numpy(), k).predict(x.to_numpy()))
        for k in range(1, n + 1)
    ]
    return Map(
        influences=_places(x, scores),
        descriptors=_places(y, scores),
        explained=tuple(explained),
        q2=tuple(q2),
        n_draws=len(x),
    )


def _share_left(y: Matrix, fitted: Matrix) -> float:
    left = ((y - fitted) ** 2).sum(axis=0) / ((y - y.mean(axis=0)) ** 2).sum(axis=0)
    return float(left.mean())


def _places(columns: pd.DataFrame, scores: Matrix) -> tuple[Place, ...]:
    values = columns.to_numpy(dtype=np.float64)
    both = np.corrcoef(values, scores, rowvar=False)[: values.shape[1], values.shape[1] :]
    return tuple(
        Place(str(name), tuple(float(r) for r in row))
        for name, row in zip(columns.columns, both, strict=True)
    )
