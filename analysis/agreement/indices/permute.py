"""Could the codes have been anything? The sample effect by permutation."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from ...array_types import Matrix
from .layout import ScoreLayout


def permutation_p(layout: ScoreLayout, *, permutations: int = 999, seed: int = 1) -> float | None:
    """Chance of samples this far apart if the codes meant nothing.

    Each assessor's glasses change codes among themselves, so offsets and each one's way of
    using the line stay as they are; replicates of a sample stay together, so that a mere
    difference of opinion (interaction without a common effect) is no evidence. Choose it
    where scores are mostly zero or the assessors are few: it assumes no distribution.

    Parameters
    ----------
    layout
        Scores of one descriptor in one session.
    permutations
        Number of rearrangements; 999 gives p in steps of .001.
    seed
        Seed of the generator. The same layout of glasses gets the same rearrangements, so
        descriptors of one session are compared on equal terms.

    Returns
    -------
    float or None
        ``(1 + times at least as far apart) / (permutations + 1)``; None when all scores are
        equal.

    Notes
    -----
    The statistic is ``sum_j n_j m_j^2`` with ``m_j`` the mean of sample j over assessors, each
    assessor's own mean taken out. In a complete table it rises and falls with F.

    Examples
    --------
    >>> layout = ScoreLayout(("A", "B", "C"), ("w", "x", "y", "z"), np.repeat(np.arange(3), 4),
    ...                 np.tile(np.arange(4), 3), np.tile([0.0, 10.0, 20.0, 40.0], 3))
    >>> permutation_p(layout) < 0.01
    True
    """
    present = layout.counts > 0
    means = np.where(present, layout.means, 0.0)
    own = means.sum(axis=1) / present.sum(axis=1)
    centred = np.where(present, layout.means - own[:, None], 0.0)
    if not np.any(np.abs(centred) > 1e-12 * max(1.0, float(np.abs(means).max()))):
        return None
    shuffled = _shuffle(centred, present, permutations, seed)
    weights = 1.0 / present.sum(axis=0)
    drawn = (shuffled.sum(axis=1) ** 2) @ weights
    seen = float((centred.sum(axis=0) ** 2) @ weights)
    as_far = np.count_nonzero(drawn >= seen * (1.0 - 1e-9))
    return (1.0 + float(as_far)) / (permutations + 1.0)


@lru_cache(maxsize=4)
def _orders(present: bytes, shape: tuple[int, int], permutations: int, seed: int) -> np.ndarray:
    """Where each place takes its value from; the same for all descriptors of a full session."""
    known = np.frombuffer(present, dtype=bool).reshape(shape)
    keys = np.random.default_rng(seed).random((permutations, *shape))
    keys[:, ~known] = 2.0
    return np.argsort(keys, axis=2)


def _shuffle(centred: Matrix, present: np.ndarray, permutations: int, seed: int) -> Matrix:
    """Rearrange each row among the places it holds, shape (permutations, rows, columns)."""
    taken = _orders(present.tobytes(), present.shape, permutations, seed)
    if present.all():
        found: Matrix = centred[np.arange(len(centred))[:, None], taken]
        return found
    places = np.argsort(~present, axis=1, kind="stable")
    rows = np.broadcast_to(centred, taken.shape)
    shuffled = np.zeros(taken.shape)
    values = np.take_along_axis(rows, taken, axis=2)
    np.put_along_axis(shuffled, np.broadcast_to(places, taken.shape), values, axis=2)
    return shuffled
