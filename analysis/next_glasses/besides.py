"""What a session moves besides what it tells of the casks on its trays.

A panel's level on the line is known to within the evenings it was learned on, all casks alike; on
an aim in the middle of the line that brings some casks nearer and takes others away. Somebody new
moves that level with their own. And whoever noses tells more of earlier evenings and of earlier
scores: casks that nobody noses again move too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..array_types import Vector
from ..profile.result import DescriptorFit
from ..profile.terms import ASSESSOR
from .known import Known

_OTHERS_MOVE, _AT_MOST = 0.8, 0.4
"""Of its own standard error, what a cask nobody noses moves by from the n-th session to the next:
.8 over n, never more than .4 (measured on houses that learn everything from nothing, 2 to 13
sessions: .38 .26 .21 .17 .14 .12 .11 .10 .09 .09 .08 .08)."""


@dataclass(frozen=True, eq=False)
class Besides:
    """What a session moves anyway.

    Attributes
    ----------
    level
        Variance by which all casks move at once on each note, points squared.
    share
        By how much the variance of each cask falls, beside what its own glasses tell.
    """

    level: Vector
    share: float


def besides_of(known: Known, notes: Sequence[str], people: Sequence[str]) -> Besides:
    """What the next session moves anyway, with some people at it.

    Notes
    -----
    A level known to within v from n sessions was told of by each with n v; one more leaves
    ``v n / (n + 1)``, so it moves by ``v / (n + 1)``. The mean of J people that m new ones join
    moves by ``s^2 m / (J (J + m))``, s the spread of people's places on the line.
    """
    n = max(known.n_sessions, 1)
    common, fits = known.common(notes), {fit.descriptor: fit for fit in known.profile.fits}
    joins = np.array([_by_newcomers(fits.get(note), people) for note in notes])
    return Besides(common / (n + 1.0) + joins, min(_OTHERS_MOVE / n, _AT_MOST) ** 2)


def _by_newcomers(fit: DescriptorFit | None, people: Sequence[str]) -> float:
    if fit is None or not fit.scale:
        return 0.0
    there, new = len(fit.scale), sum(name not in fit.scale for name in people)
    return fit.variances.get(ASSESSOR, 0.0) * new / (there * (there + new))
