"""Answers of people who answer several times: how far people differ, and sums that allow for it.

One person's answers hang together: some are right more often than others. Their number is then
beta-binomial: ``gamma`` is the correlation of two answers of one person, 0 where all people are
alike. Against no difference at all it does not matter (codes and places are drawn anew for each
set, so everybody is right by chance); for an interval and for alike it does.

Source: Brockhoff and Schlich (1998), Food Quality and Preference 9:159-163, and Skellam (1948),
Journal of the Royal Statistical Society B 10:257-261, both from memory.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.special import betaln, gammaln

from ..array_types import Vector

GAMMAS = np.concatenate([[0.0], np.linspace(0.02, 0.9, 23)])
"""The correlations that are tried."""
LIKELY = 0.5
"""A drop of log-likelihood (one standard error, about) within which a gamma is still
believed; see tests/bench/words_difference.py for what comes of it."""


@dataclass(frozen=True)
class Answers:
    """Right answers of each person, and of how many."""

    right: tuple[int, ...]
    given: tuple[int, ...]

    @property
    def n_right(self) -> int:
        """Right answers in all."""
        return sum(self.right)

    @property
    def n(self) -> int:
        """Answers in all."""
        return sum(self.given)

    @cached_property
    def repeated(self) -> bool:
        """Whether anybody answered more than once."""
        return any(n > 1 for n in self.given)

    @cached_property
    def sizes(self) -> Counter[int]:
        """How many people gave so many answers."""
        return Counter(self.given)

    def believable(self, share: float) -> Vector:
        """Correlations between one person's answers that these could have, if *share* is right."""
        if not self.repeated:
            return GAMMAS[:1]
        likely = _log_likelihood(np.array(self.right), np.array(self.given), share)
        return np.asarray(GAMMAS[likely >= likely.max() - LIKELY])


def _log_likelihood(x: Vector, n: Vector, share: float) -> Vector:
    """By gamma of GAMMAS; what does not hang on it is left out."""
    share = min(max(share, 1e-9), 1.0 - 1e-9)
    found = np.empty(len(GAMMAS))
    found[0] = float(np.sum(x * np.log(share) + (n - x) * np.log1p(-share)))
    more = (1.0 - GAMMAS[1:, None]) / GAMMAS[1:, None]
    a, b = share * more, (1.0 - share) * more
    found[1:] = (betaln(x + a, n - x + b) - betaln(a, b)).sum(axis=1)
    return found


def of_one(n: int, share: float, gamma: float) -> Vector:
    """Chances that one person is right 0 to n times.

    Examples
    --------
    >>> of_one(2, 0.5, 0.0).tolist()
    [0.25, 0.5, 0.25]
    """
    k = np.arange(n + 1)
    ways = gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)
    share = min(max(share, 1e-12), 1.0 - 1e-12)
    if gamma <= 0.0:
        return np.asarray(np.exp(ways + k * np.log(share) + (n - k) * np.log1p(-share)))
    a, b = share * (1.0 - gamma) / gamma, (1.0 - share) * (1.0 - gamma) / gamma
    return np.asarray(np.exp(ways + betaln(k + a, n - k + b) - betaln(a, b)))


def of_all(sizes: Counter[int], share: float, gamma: float) -> Vector:
    """Chances of so many right answers in all, 0 to their number."""
    if gamma <= 0.0:
        return of_one(sum(n * people for n, people in sizes.items()), share, 0.0)
    found = np.ones(1)
    for n, people in sizes.items():
        one = of_one(n, share, gamma)
        for _ in range(people):
            found = np.convolve(found, one)
    return found


def at_most(answers: Answers, share: float) -> float:
    """Largest chance of no more right answers than these, if *share* is right on average."""
    return max(
        min(float(of_all(answers.sizes, share, gamma)[: answers.n_right + 1].sum()), 1.0)
        for gamma in _tried(answers, share)
    )


def at_least(answers: Answers, share: float) -> float:
    """Largest chance of no fewer right answers than these, if *share* is right on average."""
    return max(
        min(float(of_all(answers.sizes, share, gamma)[answers.n_right :].sum()), 1.0)
        for gamma in _tried(answers, share)
    )


def _tried(answers: Answers, share: float) -> Sequence[float]:
    """No correlation, the largest believable one and one between: tails rise in between."""
    found = answers.believable(share)
    return sorted({0.0, float(found[len(found) // 2]), float(found[-1])})


def interval(answers: Answers, error: float) -> tuple[float, float]:
    """Shares of right answers that these do not speak against, each end at half of *error*.

    With one answer a person these are the exact ends of Clopper and Pearson (1934).

    Examples
    --------
    >>> low, high = interval(Answers((1,) * 21 + (0,) * 9, (1,) * 30), 0.05)
    >>> round(low, 3), round(high, 3)
    (0.506, 0.853)
    """
    x, n = answers.n_right, answers.n
    low = 0.0 if x == 0 else _solved(lambda share: at_least(answers, share) < error / 2.0)
    high = 1.0 if x == n else _solved(lambda share: at_most(answers, share) >= error / 2.0)
    return low, high


def _solved(below: Callable[[float], bool]) -> float:
    """Where a condition ends that holds from 0 upward."""
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = (low + high) / 2.0
        low, high = (middle, high) if below(middle) else (low, middle)
    return (low + high) / 2.0
