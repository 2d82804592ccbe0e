"""Multiple factor analysis: one map from tables that share their rows only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ...array_types import Matrix, Vector

_FILL_ROUNDS = 500
_FILL_AXES = 2


@dataclass(frozen=True)
class ConsensusMap:
    """The map that all tables share.

    Attributes
    ----------
    eigenvalues
        Inertia of each axis, falling; an axis that all tables have in common as their first
        would reach the number of tables.
    coordinates
        Places of the rows, shape (rows, axes).
    first_eigenvalues
        First eigenvalue of each table by itself, whose inverse is the table's weight.
    words
        For each table the correlation of its columns with the axes, shape (columns, axes).
    tables
        Inertia of each table along each axis, 0 to 1, shape (tables, axes): near 1, the axis
        is a main direction of that table.
    partial
        Places of the rows as each table alone would put them, shape (tables, rows, axes);
        `coordinates` is their mean.
    """

    eigenvalues: Vector
    coordinates: Matrix
    first_eigenvalues: Vector
    words: tuple[Matrix, ...]
    tables: Matrix
    partial: np.ndarray

    @property
    def percent(self) -> Vector:
        """Share of the whole inertia on each axis, in percent."""
        found: Vector = 100.0 * self.eigenvalues / self.eigenvalues.sum()
        return found


def consensus_map(tables: Sequence[Matrix], *, scaled: bool = False) -> ConsensusMap:
    """Put tables with the same rows and different columns on one map.

    Choose it for sessions in own words: no word of one person needs to be a word of another,
    and nobody outweighs the others by using more words or a wider line.

    Parameters
    ----------
    tables
        Shape (rows, columns of that table) each, no holes, no constant column.
    scaled
        Whether each column is brought to variance one first. Off, a word on which somebody
        puts the glasses further apart counts for more with that person.

    Returns
    -------
    ConsensusMap
        Signs of the axes are free; here the row furthest out lies on the positive side.

    Notes
    -----
    Column-centred ``X_j`` with ``lambda_j`` the largest eigenvalue of ``X_j X_j' / n``; then
    the singular value decomposition of ``[X_j / sqrt(lambda_j)]``, rows of mass 1/n. Escofier
    & Pages (1994), Computational Statistics & Data Analysis 18:121-140. Agrees with FactoMineR
    2.7; see the tests.

    Examples
    --------
    >>> one = np.array([[1.0, 6], [5, 3], [6, 1], [7, 1], [2, 5], [3, 4]])
    >>> found = consensus_map([one, one + 3.0, 2.0 * one])
    >>> found.eigenvalues.round(3).tolist()
    [3.0, 0.027]
    """
    n = len(tables[0])
    centred = [_prepared(table, scaled) for table in tables]
    first = np.array([np.linalg.norm(table, 2) ** 2 / n for table in centred])
    weighted = [table / np.sqrt(n * value) for table, value in zip(centred, first, strict=True)]
    left, values, right = np.linalg.svd(np.hstack(weighted), full_matrices=False)
    kept = values > 1e-10 * values[0]
    left, values, right = left[:, kept], values[kept], right[kept]
    signs = np.sign(left[np.abs(left).argmax(axis=0), np.arange(len(values))])
    left, right = left * signs, right * signs[:, None]
    ends = np.cumsum([0, *(table.shape[1] for table in weighted)])
    own = [right[:, a:b].T for a, b in pairwise(ends)]
    return ConsensusMap(
        eigenvalues=values**2,
        coordinates=np.sqrt(n) * left * values,
        first_eigenvalues=first,
        words=tuple(correlations(table, left) for table in centred),
        tables=np.stack([np.sum((table.T @ left) ** 2, axis=0) for table in weighted]),
        partial=np.stack(
            [
                len(tables) * np.sqrt(n) * (table @ axes)
                for table, axes in zip(weighted, own, strict=True)
            ]
        ),
    )


def _prepared(table: Matrix, scaled: bool) -> Matrix:
    centred: Matrix = table - table.mean(axis=0)
    return centred / centred.std(axis=0) if scaled else centred


def correlations(centred: Matrix, axes: Matrix) -> Matrix:
    """Correlation of centred columns with centred axes, shape (columns, axes)."""
    lengths = np.linalg.norm(centred, axis=0)[:, None] * np.linalg.norm(axes, axis=0)
    found: Matrix = (centred.T @ axes) / np.where(lengths > 0.0, lengths, np.inf)
    return found


def fill_holes(tables: Sequence[Matrix]) -> tuple[list[Matrix], int]:
    """Fill what an assessor did not score with what the map of the others expects there.

    Parameters
    ----------
    tables
        As for :func:`consensus_map`, NaN where nothing was scored.

    Returns
    -------
    tuple
        The tables without holes, and the number of holes. A filled value says nothing new: it
        lies on the map that the scored ones make, drawn towards the middle.

    Notes
    -----
    Alternates the map and its two-axis picture, singular values shrunk by the noise of the
    other axes, until nothing moves (Husson & Josse 2013, Food Quality and Preference
    30:77-85).
    """
    holes = [np.isnan(table) for table in tables]
    n_holes = int(sum(hole.sum() for hole in holes))
    filled = [
        np.where(hole, np.nanmean(table, axis=0), table)
        for table, hole in zip(tables, holes, strict=True)
    ]
    if not n_holes:
        return filled, 0
    spread = max(float(np.nanstd(table)) for table in tables)
    for _ in range(_FILL_ROUNDS):
        pictures = _pictures(filled)
        again = [
            np.where(hole, picture, table)
            for hole, picture, table in zip(holes, pictures, filled, strict=True)
        ]
        moved = max(float(np.abs(a - b).max()) for a, b in zip(again, filled, strict=True))
        filled = again
        if moved < 1e-7 * spread:
            break
    return filled, n_holes


def _pictures(tables: Sequence[Matrix]) -> list[Matrix]:
    """Each table as the first axes of the common map show it."""
    n = len(tables[0])
    means = [table.mean(axis=0) for table in tables]
    centred = [table - mean for table, mean in zip(tables, means, strict=True)]
    first = [max(np.linalg.norm(table, 2) / np.sqrt(n), 1e-300) for table in centred]
    joined = np.hstack([table / value for table, value in zip(centred, first, strict=True)])
    left, values, right = np.linalg.svd(joined, full_matrices=False)
    rest = values[_FILL_AXES:]
    noise = float(np.mean(rest**2)) if len(rest) else 0.0
    kept = np.maximum(values[:_FILL_AXES] - noise / np.maximum(values[:_FILL_AXES], 1e-300), 0.0)
    picture = (left[:, :_FILL_AXES] * kept) @ right[:_FILL_AXES]
    ends = np.cumsum([table.shape[1] for table in tables])[:-1]
    parts = np.split(picture, ends, axis=1)
    return [part * value + mean for part, value, mean in zip(parts, first, means, strict=True)]
