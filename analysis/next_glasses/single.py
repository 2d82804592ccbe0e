"""What a single glass of a session would do of what the session does to a cask."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..array_types import Codes, Matrix, Vector
from ..target.off import moments_off
from .cut import LEAST_PAST
from .deciding import followed
from .fill import Poured
from .inverse import inverse_of
from .margins import BestWeighing, Margins
from .panel import PanelNoise

_DRAWS = 4000


@dataclass(frozen=True)
class Single:
    """One cask, and the glass of it in a session that tells most.

    Attributes
    ----------
    share
        Of the times that the session moves the cask over the cut, in how many this glass would by
        itself, and by `LEAST_PAST` points or more.
    assessor, note
        None where the session has no glass of it.
    """

    row: int
    share: float
    assessor: str | None
    note: str | None


def strongest(moves: Matrix, poured: Sequence[Poured], rows: Codes) -> list[tuple[float, int]]:
    """Of each cask the glass of a session that moves most, and by whom; 0 and -1 without one.

    Parameters
    ----------
    moves
        By how much a glass by each person moves each cask, shape (rows, people).
    """
    found = []
    for at, row in enumerate(rows):
        noses = {one.assessor for one in poured if one.row == row}
        each = ((float(moves[at, nose]), nose) for nose in sorted(noses))
        found.append(max(each, key=lambda one: one[0], default=(0.0, -1)))
    return found


def single_glasses(
    before: BestWeighing,
    after: BestWeighing,
    poured: Sequence[Poured],
    rows: Codes,
    seed: int,
) -> list[Single]:
    """Find of each cask the glass that tells most, and what it would do by itself.

    The glass is one of the session: what the session says of the cask is what this glass says and
    what the others add, drawn together with where the session leaves all other casks. So the one
    is never above the other.

    Parameters
    ----------
    before, after
        What glasses are worth with nothing poured, and with the session poured.
    poured
        The glasses of the session.
    rows
        The casks that are asked about.
    """
    rng = np.random.default_rng(seed)
    told = before.margins.variance[rows][:, None] - before.variances(rows)
    best = strongest(told, poured, rows)
    others = followed(before.margins, after.moves)
    if not len(others):
        return [Single(row, 0.0, None, None) for row in rows.tolist()]
    then = np.stack([_after(before.margins, after, row, rng) for row in others.tolist()], axis=1)
    found = []
    for row, (_, who) in zip(rows.tolist(), best, strict=True):
        if who < 0:
            found.append(Single(row, 0.0, None, None))
            continue
        share = _share(before, after, row, who, then[:, others != row], rng)
        note = telling_note(before.margins, before.panel, row)
        found.append(Single(row, share, before.panel.assessors[who], note))
    return found


def _after(margins: Margins, after: BestWeighing, row: int, rng: np.random.Generator) -> Vector:
    """Points that a cask is held to be off after the session."""
    covariance, told = margins.states.covariance[row], after.told[row]
    if not told.any():
        return np.full(_DRAWS, margins.off[row])
    left = inverse_of(inverse_of(covariance) + np.diag(told))
    notes = margins.states.mean[row] + _normals(covariance - left, rng)
    return _off(margins, row, notes, left)


def _share(
    before: BestWeighing,
    after: BestWeighing,
    row: int,
    who: int,
    others: Matrix,
    rng: np.random.Generator,
) -> float:
    """Of the draws in which the session moves a cask over the cut, the share in which one glass
    would, all others being where they are.
    """
    margins = before.margins
    if not np.isfinite(margins.cut[row]) or others.shape[1] < margins.k:
        return 0.0
    held = before.counts[row]
    one = np.zeros_like(held)
    one[who] = 1.0
    told = (before.panel.information(held + one) - before.panel.information(held))[who]
    covariance = margins.states.covariance[row]
    left_one = inverse_of(inverse_of(covariance) + np.diag(told))
    left_all = inverse_of(inverse_of(covariance) + np.diag(np.maximum(after.told[row], told)))
    by_one = margins.states.mean[row] + _normals(covariance - left_one, rng)
    by_all = by_one + _normals(left_one - left_all, rng)
    off_one, off_all = (
        _off(margins, row, notes, left) for notes, left in ((by_one, left_one), (by_all, left_all))
    )
    # It belongs to the chosen where fewer than so many of the others are nearer.
    last = np.partition(others, margins.k - 1, axis=1)[:, margins.k - 1]
    now, cut = margins.off[row], margins.cut[row]
    if margins.states.apart[row]:
        now = cut  # Any glass ties it to the others: it need not be found nearer than it is held.
    if margins.chosen[row]:
        glass, session = off_one > max(cut, now) + LEAST_PAST, off_all > last
    else:
        glass, session = off_one < min(cut, now) - LEAST_PAST, off_all < last
    return float((glass & session).sum() / max(int(session.sum()), 1))


def _normals(covariance: Matrix, rng: np.random.Generator) -> Matrix:
    values, ways = np.linalg.eigh(covariance)
    root = ways * np.sqrt(np.maximum(values, 0.0))
    found: Matrix = rng.standard_normal((_DRAWS, len(values))) @ root.T
    return found


def _off(margins: Margins, row: int, notes: Matrix, left: Matrix) -> Vector:
    """Points off of a cask found to be so; what is believed now is the average of that."""
    whole = np.broadcast_to(left, (len(notes), *left.shape))
    off = moments_off(margins.target, notes, whole)[0]
    found: Vector = off + (margins.off[row] - off.mean())
    return found


def telling_note(margins: Margins, panel: PanelNoise, row: int) -> str:
    """The note of which one score would move how far off a cask is the most."""
    covariance, slope = margins.states.covariance[row], margins.slopes[row]
    noise = 1.0 / np.maximum(panel.information(np.ones_like(panel.scale)).max(axis=0), 1e-12)
    told = (covariance @ slope) ** 2 / (np.diag(covariance) + noise)
    return margins.states.notes[int(np.argmax(told))]
