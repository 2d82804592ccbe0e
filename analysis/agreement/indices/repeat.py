"""How well assessors repeat: replicates and blind duplicates, pooled over sessions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from .layout import ScoreLayout


@dataclass(frozen=True)
class Repeat:
    """Repeatability from glasses nosed more than once in one session.

    Attributes
    ----------
    squares, df
        Pooled sum of squares about the mean of each assessor's glass, and its degrees of
        freedom; one pair gives one.
    """

    squares: float = 0.0
    df: int = 0

    @property
    def sd(self) -> float | None:
        """Repeatability standard deviation; None without a repeated glass.

        For pairs it is ``sqrt(sum d^2 / 2m)``.
        """
        return float(np.sqrt(self.squares / self.df)) if self.df > 0 else None

    def plus(self, other: Repeat) -> Repeat:
        """Pool with another."""
        return Repeat(self.squares + other.squares, self.df + other.df)


@dataclass(frozen=True)
class Repeatability:
    """Repeatability of the panel and of each assessor on one descriptor.

    Attributes
    ----------
    panel
        Pooled over all assessors.
    assessors
        By assessor, over this session and the recent ones.
    n_duplicates
        Number of glasses (sample in a session) that anybody had more than once.
    n_sessions
        Number of sessions those came from.
    """

    panel: Repeat
    assessors: Mapping[str, Repeat]
    n_duplicates: int
    n_sessions: int


def repeatability(layouts: Sequence[ScoreLayout]) -> Repeatability:
    """Pool the repeats of one descriptor over sessions.

    Parameters
    ----------
    layouts
        One a session; replicates count as duplicates, whoever poured them.

    Returns
    -------
    Repeatability

    Examples
    --------
    Three pairs, 2, 4 and 4 points apart: sqrt((4 + 16 + 16) / 6) = 2.45.

    >>> assessor, sample = np.array([0, 0, 1, 1, 2, 2]), np.zeros(6, int)
    >>> score = np.array([10.0, 12, 30, 34, 7, 3])
    >>> layout = ScoreLayout(("A", "B", "C"), ("x",), assessor, sample, score)
    >>> found = repeatability([layout])
    >>> round(found.panel.sd, 2), found.panel.df, found.n_duplicates
    (2.45, 3, 1)
    """
    each: dict[str, Repeat] = {}
    panel, duplicates, sessions = Repeat(), 0, 0
    for layout in layouts:
        squares = layout.within_squares.sum(axis=1)
        df = np.maximum(layout.counts - 1.0, 0.0).sum(axis=1)
        for name, s, d in zip(layout.assessors, squares, df, strict=True):
            own = Repeat(float(s), int(d))
            each[name] = each.get(name, Repeat()).plus(own)
            panel = panel.plus(own)
        doubled = int((layout.counts > 1).any(axis=0).sum())
        duplicates += doubled
        sessions += doubled > 0
    return Repeatability(panel, each, duplicates, sessions)
