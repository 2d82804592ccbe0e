"""What the program would say of two casks after so many sessions: the verdict's own rule.

The rule of `over_visits` and `pair_span`: the error is what is left of all samples of all
sessions once people's levels and the samples are out, or what is left of each person's mean over
sessions where that leaves the wider interval. People who read unlike each other leave more of it.
One error and the count of its own degrees of freedom stand behind both answers, *some difference*
and *surely apart*.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.special
import scipy.stats

from ..array_types import Codes, Vector
from .power_exact import ALPHA
from .power_result import Design, PanelAs

LEAST_PEOPLE = 2
_WORLDS = 4000
_LEAST_WORLDS = 200
_MOST_DRAWN = 4_000_000
_LINE = 100.0
_HALVINGS = 40


@dataclass(frozen=True, eq=False)
class SaidOfTwo:
    """What could come out, for two casks that may lie any distance apart.

    Attributes
    ----------
    mean_scale
        Points that these people see for each point of the panel.
    sd
        Of the difference of the two means, once all errors that can be seen are known.
    shift
        What the errors that can be seen add to that difference, a world each.
    unlike, crossed, left
        Of the sum of squares that is left of people's means: what goes with the square of the
        difference, with the difference (a world each), and with neither.
    within
        Sum of squares of sessions about people's means, a world each.
    lasting_df, df
        Degrees of freedom of people's means and of single scores.
    """

    mean_scale: float
    sd: float
    shift: Vector
    unlike: float
    crossed: Vector
    left: Vector
    within: Vector
    people: int
    sessions: int
    lasting_df: int
    df: int

    def found(self, points: float, tolerance: float) -> tuple[float, float]:
        """Chance that some difference is seen, and its error by simulation.

        Two-sided; two that are called surely apart are seen to differ as well, which matters
        only where the error has one or two degrees of freedom.
        """
        error = self._error(points)
        differ = error.times_t(ALPHA / 2.0)
        return self._beyond(points, np.minimum(differ, tolerance + error.times_t(ALPHA)))

    def apart(self, points: float, tolerance: float) -> tuple[float, float]:
        """Chance that they are called further apart than a tolerance, and its error."""
        return self._beyond(points, tolerance + self._error(points).times_t(ALPHA))

    def smallest_apart(self, tolerance: float, power: float = 0.8) -> float | None:
        """Points that are called further apart than a tolerance; None: none on the line."""
        low, high = tolerance, _LINE
        if low >= high or self.apart(high, tolerance)[0] < power:
            return None
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            enough = self.apart(middle, tolerance)[0] >= power
            low, high = (low, middle) if enough else (middle, high)
        return high

    def _beyond(self, points: float, end: Vector) -> tuple[float, float]:
        mean = self.mean_scale * points + self.shift
        each = scipy.special.ndtr((mean - end) / self.sd)
        each = each + scipy.special.ndtr((-mean - end) / self.sd)
        return float(each.mean()), float(each.std(ddof=1) / np.sqrt(len(each)))

    def _error(self, points: float) -> _Error:
        """Standard errors that the verdict would take, a world each."""
        between = self.unlike * points**2 + self.crossed * points + self.left
        of_means = self.sessions * between / self.lasting_df
        of_scores = (self.sessions * between + self.within) / self.df
        t = scipy.stats.t.ppf(1.0 - ALPHA, [self.lasting_df, self.df])
        lasting = of_means * t[0] ** 2 > of_scores * t[1] ** 2
        variance = np.where(lasting, of_means, of_scores)
        return _Error(
            np.sqrt(variance * 2.0 / (self.people * self.sessions)),
            np.where(lasting, self.lasting_df, self.df),
        )


@dataclass(frozen=True, eq=False)
class _Error:
    """Of the difference of two casks, a world each, and its degrees of freedom."""

    se: Vector
    df: Codes

    def times_t(self, alpha: float) -> Vector:
        """So many standard errors as Student's t takes for a chance above it of alpha."""
        found: Vector = scipy.stats.t.ppf(1.0 - alpha, self.df) * self.se
        return found


def said_of_two(
    panel: PanelAs, design: Design, *, worlds: int = _WORLDS, seed: int = 1
) -> SaidOfTwo:
    """Draw the errors of a design once, for all that may be asked of it.

    Everybody noses each sample once a session; other samples lie as this house's casks do. One
    sample alone is taken for two.

    Raises
    ------
    ValueError
        Fewer than two people.

    Examples
    --------
    >>> panel = PanelAs("smoke", (0.8, 1.2), (100.0, 100.0), 0.0, 81.0)
    >>> said = said_of_two(panel, Design(2, 6, 16))
    >>> round(said.found(30.0, 10.0)[0], 2), round(said.apart(30.0, 10.0)[0], 2)
    (1.0, 1.0)
    """
    people, samples, sessions = design.assessors, max(design.samples, 2), design.sessions
    if people < LEAST_PEOPLE:
        raise ValueError("two people at least")
    rng = np.random.default_rng(seed)
    scale, noise = panel.people(people)
    variance = np.maximum(panel.disagreement + noise / sessions, 1e-12)
    worlds = int(np.clip(_MOST_DRAWN // (people * samples), _LEAST_WORLDS, worlds))
    off = scale - scale.mean()
    # Contrasts of length one: the first that of the two, each with everybody's own error.
    errors = np.sqrt(variance) * rng.standard_normal((worlds, people))
    left = _about_mean(errors)
    for _ in range(samples - 2):
        true = np.sqrt(panel.between) * rng.standard_normal((worlds, 1))
        left = left + _about_mean(
            true * scale + np.sqrt(variance) * rng.standard_normal((worlds, people))
        )
    weight = (1.0 / variance) / np.sum(1.0 / variance)
    fresh = (sessions - 1) * (samples - 1)
    within = rng.chisquare(fresh, (worlds, people)) @ noise if fresh else np.zeros(worlds)
    return SaidOfTwo(
        mean_scale=float(scale.mean()),
        # Weighted by precision, the mean hangs on none of the errors that can be seen.
        sd=float(np.sqrt(2.0 / np.sum(1.0 / variance))),
        shift=np.sqrt(2.0) * (errors.mean(axis=1) - errors @ weight),
        unlike=float(np.sum(off**2)) / 2.0,
        crossed=np.sqrt(2.0) * (errors @ off),
        left=left,
        within=within,
        people=people,
        sessions=sessions,
        lasting_df=(people - 1) * (samples - 1),
        df=(people * sessions - 1) * (samples - 1),
    )


def _about_mean(told: np.ndarray) -> Vector:
    found: Vector = np.sum((told - told.mean(axis=1, keepdims=True)) ** 2, axis=1)
    return found
