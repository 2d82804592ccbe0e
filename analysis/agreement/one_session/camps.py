"""Does the panel read a note in two camps, each of one mind and the other's opposite?"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ...array_types import Flags, Matrix, Stack, Vector
from ..indices.layout import ScoreLayout
from ..settings import AgreementSettings

_LEAST_SHARE = 0.25
"""Of the panel, in the smaller camp."""
_LEAST_GLASSES = 5
_DRAWS = 999


@dataclass(frozen=True)
class Camps:
    """Two camps on one note.

    Attributes
    ----------
    one, other
        Who is in each, the larger first.
    within, across
        Mean correlation of the people of a camp with the others of it, and with the other camp;
        of the camp in which it is weaker.
    p
        Chance of so much in people who read at random.
    """

    one: tuple[str, ...]
    other: tuple[str, ...]
    within: float
    across: float
    p: float


def two_camps(
    layout: ScoreLayout, n_notes: int, settings: AgreementSettings, seed: int = 1
) -> Camps | None:
    """Look for two camps on one note of a session.

    Parameters
    ----------
    layout
        Its scores.
    n_notes
        How many notes are looked at, of which any may be spoken of.
    settings
        Correlation and false share asked for.

    Returns
    -------
    Camps or None

    Notes
    -----
    The camps are the signs of the first axis of the correlations between people. Each must be of
    one mind (mean correlation at least .35), the two opposed (at most -.35), and two things
    rarer than .05 over the notes by rearranging everybody's glasses: so strong an axis, and so
    opposed a smaller camp were it of people who read at random and were counted to it for that.
    Where glasses came back, each camp must repeat them nearer than it puts unlike ones.

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> casks = np.array([5.0, 20.0, 35.0, 50.0, 65.0, 80.0])
    >>> way = np.repeat([1.0, 1.0, 1.0, 1.0, -1.0, -1.0, -1.0, -1.0], 6)
    >>> score = 50.0 + way * (np.tile(casks, 8) - 42.0) + rng.normal(0.0, 6.0, 48)
    >>> layout = ScoreLayout(tuple("ABCDEFGH"), tuple("uvwxyz"), np.repeat(np.arange(8), 6),
    ...                      np.tile(np.arange(6), 8), score)
    >>> two_camps(layout, 1, AgreementSettings()).other
    ('E', 'F', 'G', 'H')
    """
    table = _standing(layout)
    several = np.sum(layout.counts > 0, axis=1) >= _LEAST_GLASSES
    if several.sum() < settings.small_panel:
        return None
    rows = table[several]
    shared = rows @ rows.T
    values, vectors = np.linalg.eigh(shared)
    first = vectors[:, -1] >= 0.0
    first = first if 2 * int(first.sum()) >= len(first) else ~first
    n = int((~first).sum())
    if n < max(2.0, _LEAST_SHARE * len(first)):
        return None
    within = min(_with_own(rows, first), _with_own(rows, ~first))
    across = max(_with(rows[first], rows[~first]), _with(rows[~first], rows[first]))
    least = settings.with_panel_correlation
    if within < least or across > -least:
        return None
    p = max(_axis_p(rows, float(values[-1]), seed), _opposed_p(rows, first, seed))
    if p * n_notes > settings.false_share or not _repeats(layout, several, first):
        return None
    names = np.array(layout.assessors)[several]
    one, other = (tuple(str(name) for name in names[part]) for part in (first, ~first))
    return Camps(one, other, within, across, p)


def _standing(layout: ScoreLayout) -> Matrix:
    """Each assessor's samples about the assessor's mean, of length one; 0 for none."""
    means = layout.means
    there = ~np.isnan(means)
    level = np.where(there, means, 0.0).sum(axis=1) / np.maximum(there.sum(axis=1), 1)
    found = np.where(there, means - level[:, None], 0.0)
    length = np.sqrt((found**2).sum(axis=1, keepdims=True))
    unit: Matrix = np.divide(found, length, out=np.zeros_like(found), where=length > 1e-9)
    return unit


def _with_own(rows: Matrix, camp: Flags) -> float:
    """Mean correlation of the people of a camp with the others of it."""
    own = rows[camp]
    others = own.sum(axis=0) - own
    length = np.maximum(np.sqrt((others**2).sum(axis=1)), 1e-9)
    return float(np.mean((own * others).sum(axis=1) / length))


def _with(rows: Matrix, others: Matrix) -> float:
    """Mean correlation of some people with the mean of others."""
    mean = others.mean(axis=0)
    return float(np.mean(rows @ mean)) / max(float(np.sqrt(mean @ mean)), 1e-9)


@lru_cache(maxsize=8)
def _orders(people: int, samples: int, seed: int) -> np.ndarray:
    return np.argsort(np.random.default_rng(seed).random((_DRAWS, people, samples)), axis=2)


def _rearranged(rows: Matrix, seed: int) -> Stack:
    found: Stack = np.take_along_axis(rows[None], _orders(*rows.shape, seed), axis=2)
    return found


def _axis_p(rows: Matrix, seen: float, seed: int) -> float:
    """Chance of so strong a first axis in people who read at random."""
    drawn = _rearranged(rows, seed)
    strongest = np.linalg.eigvalsh(drawn @ np.swapaxes(drawn, 1, 2))[:, -1]
    return (1.0 + float(np.count_nonzero(strongest >= seen))) / (_DRAWS + 1.0)


def _opposed_p(rows: Matrix, first: Flags, seed: int) -> float:
    """Chance of so opposed a smaller camp in people who were counted to it for being opposed."""
    others = rows[first].mean(axis=0)
    seen = float((rows[~first] @ others).sum())
    drawn: Vector = -np.abs(_rearranged(rows, seed)[:, ~first] @ others).sum(axis=1)
    return (1.0 + float(np.count_nonzero(drawn <= seen))) / (_DRAWS + 1.0)


def _repeats(layout: ScoreLayout, several: Flags, first: Flags) -> bool:
    """Whether each camp repeats a glass nearer than it puts unlike ones, where any came back."""
    again = layout.counts > 1
    within = np.where(again, layout.within_squares, 0.0)
    df = np.where(again, layout.counts - 1.0, 0.0)
    spread = np.nanvar(layout.means, axis=1, ddof=1)
    for camp in (first, ~first):
        rows = np.flatnonzero(several)[camp]
        n = float(df[rows].sum())
        if n > 0.0 and float(within[rows].sum()) / n >= float(spread[rows].mean()):
            return False
    return True
