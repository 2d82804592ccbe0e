"""What deciding costs where every line of a vatting is within its tolerance or not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..array_types import Vector
from .blend import VatLines
from .value import loss_of


@dataclass(frozen=True)
class LinesCost:
    """What deciding now costs, and deciding after a session.

    Attributes
    ----------
    by_line
        Loss of each line, weighted, points.
    loss, after
        Their sums, now and after the session.
    chance
        Chance of each line to be within its tolerance.
    moves
        Standard deviation by which the session moves each line.
    wrong, wrong_after
        Chance that the vatting is decided wrongly: on the line where that is likeliest.
    """

    by_line: Vector
    loss: float
    after: float
    chance: Vector
    moves: Vector
    wrong: float
    wrong_after: float

    @property
    def worst(self) -> int:
        """The line on which deciding now costs most."""
        return int(np.argmax(self.by_line))


def lines_cost(lines: VatLines, after: Vector) -> LinesCost:
    """Reckon the cost from the variances of the lines now and after a session.

    A look that moves a line over its end changes the answer: by that the loss is smaller than
    what is left of it, which is the same as in :func:`analysis.next_glasses.value.worth`.
    """
    moves = np.sqrt(np.maximum(lines.variance - after, 0.0))
    now = lines.weight * loss_of(np.abs(lines.beyond), np.sqrt(lines.variance))
    saved = lines.weight * loss_of(np.abs(lines.beyond), moves)
    chance = np.array([lines.chance_of(k, np.zeros(1), lines.variance[k])[0] for k in _each(lines)])
    likely = np.where(lines.within, 1.0 - chance, chance)
    loss, left = float(now.sum()), float(np.maximum(now - saved, 0.0).sum())
    wrong = float(likely.max())
    return LinesCost(
        by_line=now,
        loss=loss,
        after=left,
        chance=chance,
        moves=moves,
        wrong=wrong,
        wrong_after=wrong * left / loss if loss > 0.0 else wrong,
    )


def _each(lines: VatLines) -> range:
    return range(len(lines.notes))
