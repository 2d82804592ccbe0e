"""Who is far from the others: the weights of STATIS."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...array_types import Matrix, Vector
from .rv import products

_SHOWN_AXES = 3


@dataclass(frozen=True)
class Compromise:
    """How near each table lies to what all of them have in common.

    Attributes
    ----------
    rv
        RV of each pair of tables.
    rv_eigenvalues
        Its eigenvalues; the first near the number of tables means that all agree.
    weights
        Share of each table in the compromise, together 1: small is far from the others.
    eigenvalues
        Of the compromise ``sum a_j W_j`` with ``a`` of length one.
    nearness
        Cosine of each table with the compromise as its first three axes show it.
    """

    rv: Matrix
    rv_eigenvalues: Vector
    weights: Vector
    eigenvalues: Vector
    nearness: Vector


def compromise(tables: Sequence[Matrix]) -> Compromise:
    """Weigh tables by what they share with the others.

    Choose it to see who stands apart; the map itself comes from :func:`consensus_map`.

    Parameters
    ----------
    tables
        Shape (rows, columns of that table) each, no holes.

    Returns
    -------
    Compromise

    Notes
    -----
    The weights are the first eigenvector of the RV matrix (Lavit, Escoufier, Sabatier &
    Traissac 1994, Computational Statistics & Data Analysis 18:97-119). Agrees with ade4
    1.7-22; see the tests.

    Examples
    --------
    >>> one = np.array([[1.0, 6], [5, 3], [6, 1], [7, 1], [2, 5], [3, 4]])
    >>> odd = one[[3, 0, 5, 1, 2, 4]]
    >>> compromise([one, one + 1.0, odd]).weights.round(2).tolist()
    [0.41, 0.41, 0.18]
    """
    inner = products(tables)
    flat = inner.reshape(len(tables), -1)
    rv = flat @ flat.T
    values, vectors = np.linalg.eigh(rv)
    unit = np.abs(vectors[:, -1])
    whole = np.tensordot(unit, inner, axes=1)
    eigenvalues, axes = (part[..., ::-1] for part in np.linalg.eigh(whole))
    shown = (axes[:, :_SHOWN_AXES] * eigenvalues[:_SHOWN_AXES]) @ axes[:, :_SHOWN_AXES].T
    return Compromise(
        rv=rv,
        rv_eigenvalues=values[::-1],
        weights=unit / unit.sum(),
        eigenvalues=eigenvalues,
        nearness=flat @ shown.ravel() / np.linalg.norm(shown),
    )
