"""What a single glass of a session would do of what the session does to a cask."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..array_types import Codes, Flags, Matrix
from ..target.off import moments_off
from .fill import Poured
from .inverse import inverse_of
from .margins import BestWeighing, Margins
from .panel import PanelNoise

_LEAST = 0.25
"""Points by which one glass has to move a cask past the cut: by less nobody would choose otherwise.
A cask that lies on the cut is past it half the time by next to nothing, whatever is poured."""
_DRAWS = 4000


@dataclass(frozen=True)
class Single:
    """One cask, and the glass of it in a session that tells most.

    Attributes
    ----------
    share
        Of the times that the session moves the cask over the cut, in how many this glass would by
        itself.
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
    what the others add, drawn together, so that the one is never above the other.

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
    return [
        _single(before, after, int(row), who, rng) for row, (_, who) in zip(rows, best, strict=True)
    ]


def _single(
    before: BestWeighing, after: BestWeighing, row: int, who: int, rng: np.random.Generator
) -> Single:
    if who < 0:
        return Single(row, 0.0, None, None)
    share = _share(before, after, row, who, rng)
    panel = before.panel
    return Single(row, share, panel.assessors[who], telling_note(before.margins, panel, row))


def _share(
    before: BestWeighing, after: BestWeighing, row: int, who: int, rng: np.random.Generator
) -> float:
    """Of the draws in which the session moves a cask over the cut where it stands, the share in
    which one glass does already.
    """
    margins = before.margins
    if not np.isfinite(margins.cut[row]):
        return 0.0
    held = before.counts[row]
    one = np.zeros_like(held)
    one[who] = 1.0
    told = (before.panel.information(held + one) - before.panel.information(held))[who]
    covariance = margins.states.covariance[row]
    left_one = inverse_of(inverse_of(covariance) + np.diag(told))
    left_all = inverse_of(inverse_of(covariance) + np.diag(np.maximum(after.told[row], told)))
    mean = margins.states.mean[row]
    by_one = mean + _normals(covariance - left_one, rng)
    by_all = by_one + _normals(left_one - left_all, rng)
    past_one = _past(margins, row, by_one, left_one, _LEAST)
    past_all = _past(margins, row, by_all, left_all, 0.0)
    return float((past_one & past_all).sum() / max(int(past_all.sum()), 1))


def _normals(covariance: Matrix, rng: np.random.Generator) -> Matrix:
    values, ways = np.linalg.eigh(covariance)
    root = ways * np.sqrt(np.maximum(values, 0.0))
    found: Matrix = rng.standard_normal((_DRAWS, len(values))) @ root.T
    return found


def _past(margins: Margins, row: int, notes: Matrix, left: Matrix, least: float) -> Flags:
    """Whether a cask found to be so lies on the other side of its cut, by so many points."""
    off = moments_off(margins.target, notes, np.broadcast_to(left, (len(notes), *left.shape)))[0]
    now, cut = float(margins.off[row]), float(margins.cut[row])
    # What is believed now is the average of what will be.
    off += now - off.mean()
    # Where others picked by another rule, a cask may lie beyond its cut: it stands as if on it.
    if margins.chosen[row]:
        return np.asarray(off > max(cut, now) + least)
    return np.asarray(off < min(cut, now) - least)


def telling_note(margins: Margins, panel: PanelNoise, row: int) -> str:
    """The note of which one score would move how far off a cask is the most."""
    covariance, slope = margins.states.covariance[row], margins.slopes[row]
    noise = 1.0 / np.maximum(panel.information(np.ones_like(panel.scale)).max(axis=0), 1e-12)
    told = (covariance @ slope) ** 2 / (np.diag(covariance) + noise)
    return margins.states.notes[int(np.argmax(told))]
