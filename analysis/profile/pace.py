"""How far to go along the step of a round."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..array_types import Vector
from .evaluation import Evaluation, Taken
from .parameters import Parameters
from .sites import Sites
from .still import FADES, MOST_STEADY

_EVERY = 3
_STEADY = 0.3
_LONGEST = 0.3
"""Furthest that a lengthened step may move a scale, or the log of a noise or ratio."""
_FAR, _GROWS = 8.0, 1.25
"""Most that a step is lengthened, and how fast that comes back."""
_LEAP = 2.5
"""Lengthening after which the scores at the ends need a round to follow."""
_SMALL = 0.1
"""Ratio under which a step of one counts by itself rather than as a share of it."""


class Pace:
    """Shortens steps that turn back, lengthens those that creep.

    Newton steps round a bend of the likelihood turn back without getting smaller: each ratio
    that does so has its step halved. Expectation steps creep, each a steady share ``rho`` of the
    last one: every third round the whole step is taken ``1 / (1 - rho)`` times, where the
    sequence would end (Aitken). A step that went too far halves how far the next ones may go, and
    each round since lets them go farther again. Scores read as beyond the ends go the same way.

    Parameters
    ----------
    careful
        Halve any step that turns back, noises with the rest: where scores lie at the ends, what
        they tell of the noise hangs on the noise itself, and it may swing.
    """

    def __init__(self, *, careful: bool = False) -> None:
        self._careful = careful
        self._round = 0
        self._turning = np.zeros(0)
        self._factor = np.ones(1)
        self._step = np.zeros(0)
        self._was_longer = False
        self._furthest = _FAR
        self._creep = 0.0
        self._leapt = False
        self._times = 1.0
        self._sites: Sites | None = None

    @property
    def last(self) -> float:
        """Share that the last round was of all that was left to go, as far as creeps show it."""
        return 1.0 - self._creep

    def waits(self) -> bool:
        """Whether parameters wait for a round: scores at the ends follow a leap with a lag.

        What a step says before they have is a step back from nowhere.
        """
        waits, self._leapt = self._leapt and self._careful, False
        return waits

    def of(self, now: Parameters, wanted: Parameters) -> Parameters:
        """Where to go from `now` when one round says `wanted`."""
        self._round += 1
        k, n = len(now.ratios), len(now.scale)
        ratios = _ratios(wanted) - _ratios(now)
        step = np.concatenate([ratios, wanted.scale - now.scale, np.log(wanted.noise / now.noise)])
        some = slice(None) if self._careful else slice(k)
        step[some] = self._shortened(step[some])
        size = np.ones(len(step))
        if self._careful:
            size[:k] = np.maximum(_ratios(now), _SMALL)
        self._times = self._longer(step, size)
        step = step * self._times
        least = np.minimum(_ratios(wanted), _ratios(now) / 8.0)
        new = np.maximum(_ratios(now) + step[:k], least)
        return replace(
            wanted,
            ratios=dict(zip(now.ratios, new.tolist(), strict=True)),
            scale=now.scale + step[k : k + n],
            noise=now.noise * np.exp(step[k + n :]),
        )

    def taken(self, at: Evaluation) -> Taken:
        """How the next round takes the scores: pseudo-scores go as far as the parameters went.

        They creep with them, and would hold them back.
        """
        before, self._sites = self._sites, at.sites
        if before is None or at.sites is None or self._times <= 1.0:
            return at.taken
        sites = at.sites.farther(before, self._times)
        return Taken(sites.score, sites)

    def _shortened(self, step: Vector) -> Vector:
        last = self._turning
        if len(last) != len(step):
            last, self._factor = np.zeros_like(step), np.ones_like(step)
        turned = (step * last < 0.0) & (np.abs(step) > 0.5 * np.abs(last))
        self._factor = np.where(turned, 0.5 * self._factor, np.minimum(1.0, 1.5 * self._factor))
        self._turning = step * self._factor
        return self._turning

    def _longer(self, step: Vector, size: Vector) -> float:
        """Factor for the whole step; where a longer one went too far, the next is shorter."""
        last, self._step = self._step, step
        if len(last) != len(step):
            return 1.0
        steady = float(step @ last) / max(float(last @ last), 1e-300)
        self._creep = min(max(steady, FADES * self._creep), MOST_STEADY)
        too_far = self._was_longer and steady < 0.0
        self._furthest *= 0.5 if too_far else _GROWS
        self._furthest = min(max(self._furthest, 1.0), _FAR)
        self._was_longer = self._round % _EVERY == 0 and _STEADY < steady < 1.0
        if not self._was_longer:
            return 1.0
        furthest = _LONGEST / max(float(np.abs(step / size).max()), 1e-300)
        longer = max(min(1.0 / (1.0 - steady), self._furthest, furthest), 1.0)
        self._leapt = longer > _LEAP
        return longer


def _ratios(parameters: Parameters) -> Vector:
    return np.array(list(parameters.ratios.values()))
