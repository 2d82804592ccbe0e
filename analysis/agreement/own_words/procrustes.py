"""A second opinion on own words: generalised Procrustes, best of several starts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...array_types import Matrix, Vector
from .rv import row_orders

_FIRST_SWEEPS = 12
_LAST_SWEEPS = 3000
_POLISHED = 0.25
"""After some sweeps the best quarter of the starts goes on; the rest would not catch up."""
_TEST_SWEEPS = 4
_TEST_AXES = 5
"""Wide tables are tested on their first axes: what lies beyond is nobody's main direction."""
_SETTLED = 1e-14


@dataclass(frozen=True)
class ProcrustesFit:
    """Tables turned, mirrored and stretched onto one another.

    Attributes
    ----------
    consensus_percent
        Share of the whole sum of squares that the mean of the turned tables holds.
    scaling
        Stretch of each table; above 1 for one who used a narrow line.
    consensus
        The mean of the turned tables on its own axes, shape (rows, axes), whole sum of
        squares 100 / tables on all tables together.
    sample_fit, sample_residual
        Percent of the whole that each row adds to the consensus and to what is left over.
    table_total, table_residual
        Percent of the whole for each table, and what is left over of it.
    n_best
        How many of the starts came to this optimum.
    """

    consensus_percent: float
    scaling: Vector
    consensus: Matrix
    sample_fit: Vector
    sample_residual: Vector
    table_total: Vector
    table_residual: Vector
    n_starts: int
    n_best: int


@dataclass(frozen=True)
class ProcrustesTest:
    """Whether tables fit together better than rearranged ones.

    Attributes
    ----------
    consensus_percent
        After the few sweeps that seen and rearranged tables are given alike.
    by_chance_percent
        Mean of the rearranged tables.
    p
        ``(1 + times at least as high) / (permutations + 1)``.
    """

    consensus_percent: float
    by_chance_percent: float
    p: float


def procrustes_fit(tables: Sequence[Matrix], *, starts: int = 60, seed: int = 1) -> ProcrustesFit:
    """Turn, mirror and stretch tables until they lie on one another as well as they can.

    Choose it beside the consensus map: it asks the same with other means, and where the two
    disagree the map is not to be leaned on. Narrow tables are widened by empty columns.

    Parameters
    ----------
    tables
        Shape (rows, columns of that table) each, no holes, at least two.
    starts
        Random turns to start from. The usual steps climb only to the nearest top; over the
        starts the highest is kept.
    seed
        Of the random turns.

    Returns
    -------
    ProcrustesFit

    Notes
    -----
    With ``Z_j`` the centred table at length one and turns ``T_j``, the share of the consensus
    for the best stretches is the largest eigenvalue of ``S_ij = tr(T_i' Z_i' Z_j T_j)`` over
    the number of tables, and its eigenvector holds the stretches. Turns and stretches are
    found in alternation (Gower 1975, Psychometrika 40:33-51; Ten Berge 1977, the same,
    42:267-276).

    Examples
    --------
    >>> one = np.array([[1.0, 6], [5, 3], [6, 1], [7, 1], [2, 5], [3, 4]])
    >>> turned = 3.0 * one @ np.array([[0.0, 1.0], [-1.0, 0.0]])
    >>> found = procrustes_fit([one, turned])
    >>> round(found.consensus_percent, 6), (found.scaling[0] / found.scaling[1]).round(6)
    (100.0, np.float64(3.0))
    """
    units, squares = _units(tables)
    turned, stretch, fit = _climb(units, starts, seed)
    best = int(fit.argmax())
    n_best = int(np.count_nonzero(fit > fit[best] - 1e-9))
    return _described(turned[best], stretch[best], float(fit[best]), squares, (starts, n_best))


def procrustes_test(
    tables: Sequence[Matrix], *, permutations: int = 999, seed: int = 1
) -> ProcrustesTest:
    """Would chance fit as well? Rows of each table rearranged by themselves.

    Returns
    -------
    ProcrustesTest

    Notes
    -----
    Wakeling, Raats & MacFie (1992), Journal of Sensory Studies 7:91-96. Seen and rearranged
    tables get the same few sweeps from the same start, so that the test is fair although
    neither has reached its top. Tables of more than five axes are tested on their first five.
    """
    units, _ = _units(tables, _TEST_AXES)
    m, n, _ = units.shape
    orders = [row_orders(n, permutations, seed + at) for at in range(m)]
    drawn = np.stack([unit[order] for unit, order in zip(units, orders, strict=True)], axis=1)
    both = np.concatenate([units[None], drawn])
    _, _, fit = _sweep(both.copy(), np.full((len(both), m), m**-0.5), _TEST_SWEEPS)
    as_high = int(np.count_nonzero(fit[1:] >= fit[0] - 1e-12))
    return ProcrustesTest(
        consensus_percent=100.0 * float(fit[0]),
        by_chance_percent=100.0 * float(fit[1:].mean()),
        p=(1.0 + as_high) / (permutations + 1.0),
    )


def _units(tables: Sequence[Matrix], most: int | None = None) -> tuple[np.ndarray, Vector]:
    """Centred tables at length one on their own axes, shape (tables, rows, axes); squares."""
    centred = [_principal(table - table.mean(axis=0))[:, :most] for table in tables]
    width = max(table.shape[1] for table in centred)
    padded = [np.pad(table, ((0, 0), (0, width - table.shape[1]))) for table in centred]
    squares = np.array([np.sum(table**2) for table in padded])
    stacked = np.stack(padded) / np.sqrt(squares)[:, None, None]
    return stacked, squares


def _principal(centred: Matrix) -> Matrix:
    """The same layout of rows on no more axes than it needs."""
    left, values, _ = np.linalg.svd(centred, full_matrices=False)
    kept = values > 1e-12 * values[0]
    found: Matrix = left[:, kept] * values[kept]
    return found


def _climb(units: np.ndarray, starts: int, seed: int) -> tuple[np.ndarray, Matrix, Vector]:
    """Climb from many starts; the best of them to the very top."""
    m, _, width = units.shape
    turns = _polar(np.random.default_rng(seed).normal(size=(starts, m, width, width)))
    turns[0] = np.eye(width)
    level = np.full((starts, m), m**-0.5)
    turned, stretch, fit = _sweep(np.einsum("mnp,smpq->smnq", units, turns), level, _FIRST_SWEEPS)
    best = np.argsort(-fit)[: max(int(_POLISHED * starts), 1)]
    return _sweep(turned[best], stretch[best], _LAST_SWEEPS)


def _sweep(turned: np.ndarray, stretch: Matrix, sweeps: int) -> tuple[np.ndarray, Matrix, Vector]:
    """Turn each table in turn towards the others, then stretch all; many starts at once.

    `turned` has shape (starts, tables, rows, axes) and is changed in place.
    """
    m = turned.shape[1]
    before = np.full(len(turned), -1.0)
    for _ in range(sweeps):
        whole = np.einsum("sm,smnq->snq", stretch, turned)
        for at in range(m):
            table, own = turned[:, at], stretch[:, at, None, None]
            rest = whole - own * table
            table = table @ _polar(np.swapaxes(table, 1, 2) @ rest)
            turned[:, at] = table
            whole = rest + own * table
        flat = turned.reshape(len(turned), m, -1)
        values, vectors = np.linalg.eigh(flat @ np.swapaxes(flat, 1, 2))
        stretch = vectors[:, :, -1] * np.sign(vectors[:, :, -1].sum(axis=1, keepdims=True))
        fit = values[:, -1] / m
        if np.max(fit - before) < _SETTLED:
            break
        before = fit
    return turned, stretch, fit


def _polar(matrices: np.ndarray) -> np.ndarray:
    """The turn nearest to each matrix."""
    left, _, right = np.linalg.svd(matrices)
    found: np.ndarray = left @ right
    return found


def _described(
    turned: np.ndarray, stretch: Vector, fit: float, squares: Vector, counts: tuple[int, int]
) -> ProcrustesFit:
    stretched = 10.0 * stretch[:, None, None] * turned
    mean = stretched.mean(axis=0)
    left = stretched - mean
    axes = np.linalg.svd(mean, full_matrices=False)[2]
    scaling = stretch / np.sqrt(squares)
    return ProcrustesFit(
        consensus_percent=100.0 * fit,
        scaling=scaling * np.sqrt(squares.sum()),
        consensus=mean @ axes.T,
        sample_fit=len(turned) * np.sum(mean**2, axis=1),
        sample_residual=np.sum(left**2, axis=(0, 2)),
        table_total=np.sum(stretched**2, axis=(1, 2)),
        table_residual=np.sum(left**2, axis=(1, 2)),
        n_starts=counts[0],
        n_best=counts[1],
    )
