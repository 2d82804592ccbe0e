"""Whether a fit stands still, where parameters or samples creep."""

from __future__ import annotations

import numpy as np

from .evaluation import Evaluation

_SAMPLES = 0.6
"""Share of the tolerance within which samples have to stay: many rounds add up."""
_SURER = 4.0
"""How many times more a change of a standard error counts than one of where a sample stands."""
MOST_STEADY = 0.9
"""Steadiest that a creep is taken for: what is left to go is at most ten times the last round."""

FADES = 0.8
"""How fast a creep is forgotten, a share a round: what follows a long step looks like rest."""


class Still:
    """Whether the samples stay where they were a round ago, and as sure.

    Where scores are read as beyond the ends, pseudo-scores follow the samples and these follow
    them: the parameters may stand still while both still creep. A creep that keeps a steady share
    ``rho`` of itself from round to round has ``1 / (1 - rho)`` times its last round to go.

    Parameters
    ----------
    tolerance
        In standard errors of a sample.
    all_to_go
        Count all that a creep has to go, and not its last round alone: of a fit that stops early.
    always
        Look at the samples wherever scores lie; else only where they are read as beyond the ends.
    """

    def __init__(self, tolerance: float, *, all_to_go: bool, always: bool = False) -> None:
        self._tolerance, self._all_to_go = _SAMPLES * tolerance, all_to_go
        self._always = always
        self._before: Evaluation | None = None
        self._moved = np.inf
        self._steady = 0.0

    def at(self, now: Evaluation) -> bool:
        """Look at the next round."""
        before, self._before = self._before, now
        if now.problem.ends is None and not self._always:
            return True
        if before is None:
            return False
        sd, earlier = (np.sqrt(one.squares * one.tau_variance) for one in (now, before))
        off = np.max(np.abs(now.solution.tau - before.solution.tau) / sd)
        surer = np.max(np.abs(np.log(sd / earlier)))
        last, self._moved = self._moved, float(max(off, _SURER * surer))
        steady = max(self._moved / max(last, 1e-300), FADES * self._steady)
        self._steady = min(steady, MOST_STEADY) if self._all_to_go else 0.0
        return self._moved < self._tolerance * (1.0 - self._steady)
