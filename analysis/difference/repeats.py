"""Answers of people who answer several times: how far people differ, and sums that allow for it.

One person's answers hang together: some are right more often than others. Their number is then
beta-binomial: ``gamma`` is the correlation of two answers of one person, 0 where all people are
alike. Against no difference at all it does not matter (codes and places are drawn anew for each
set, so everybody is right by chance); for an interval and for alike it does.

Where nobody can be right less often than by chance, people may also be of two kinds, a few who
nearly always find the difference and others who guess; and none of the few may be there. No
correlation that such answers show tells of it, so these mixtures are tried as well.

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

from ..array_types import Ints, Vector

GAMMAS = np.concatenate([[0.0], np.linspace(0.02, 0.9, 23)])
"""The correlations that are tried."""
LIKELY = 0.5
"""A drop of log-likelihood (one standard error, about) within which a gamma is still
believed; see tests/bench/words_difference.py for what comes of it."""
FINDERS = np.array([0.6, 0.8, 0.9, 1.0])
"""Of two kinds of people: how far from guessing to never being wrong the better ones are."""


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


def of_two_kinds(sizes: Counter[int], share: float, lowest: float, best: float) -> Vector:
    """The same where each person is one of the `best`, or guesses; *share* is right on average.

    Examples
    --------
    >>> of_two_kinds(Counter({1: 2}), 0.6, 0.2, 1.0).round(2).tolist()
    [0.16, 0.48, 0.36]
    """
    finders = (share - lowest) / (best - lowest)
    found = np.ones(1)
    for n, people in sizes.items():
        one = finders * of_one(n, best, 0.0) + (1.0 - finders) * of_one(n, lowest, 0.0)
        for _ in range(people):
            found = np.convolve(found, one)
    return found


def at_most(answers: Answers, share: float, lowest: float | None = None) -> float:
    """Largest chance of no more right answers than these, if *share* is right on average.

    `lowest` is the share of right answers below which nobody's can lie; None: there is none.
    """
    sums = [of_all(answers.sizes, share, gamma) for gamma in _tried(answers, share)]
    if lowest is not None and answers.repeated:
        sums += _two_kinds(answers.sizes, share, lowest)
    return max(min(float(one[: answers.n_right + 1].sum()), 1.0) for one in sums)


def _two_kinds(sizes: Counter[int], share: float, lowest: float) -> list[Vector]:
    """Sums of people of two kinds of whom *share* is right on average, where there are such."""
    best = lowest + FINDERS * (1.0 - lowest)
    tried = best[best >= share] if share > lowest else best[:0]
    return [of_two_kinds(sizes, share, lowest, float(one)) for one in tried]


def at_least(answers: Answers, share: float) -> float:
    """Largest chance of no fewer right answers than these, if *share* is right on average."""
    return max(
        min(float(of_all(answers.sizes, share, gamma)[answers.n_right :].sum()), 1.0)
        for gamma in _tried(answers, share)
    )


def at_most_of_each(right: Ints, each: int, share: float, lowest: float | None = None) -> Vector:
    """`at_most` of many outcomes at once; everybody answers `each` times.

    Parameters
    ----------
    right
        An outcome a row: right answers of each person.

    Examples
    --------
    >>> rows = np.array([[4, 5, 6], [0, 5, 10]])
    >>> at_most_of_each(rows, 12, 0.7).round(4).tolist()
    [0.0662, 0.1548]
    >>> [round(at_most(Answers(tuple(row), (12,) * 3), 0.7), 4) for row in rows.tolist()]
    [0.0662, 0.1548]
    """
    sizes, n_right = Counter({each: right.shape[1]}), right.sum(axis=1)
    if each == 1:
        return np.asarray(np.cumsum(of_all(sizes, share, 0.0))[n_right])
    every = range(each + 1)
    one = np.array([_log_likelihood(np.array([k]), np.array([each]), share) for k in every])
    likely = np.zeros((len(right), len(GAMMAS)))
    for person in right.T:
        likely += one[person]
    sums = np.array([np.cumsum(of_all(sizes, share, gamma)) for gamma in GAMMAS])
    found = sums[_believed(likely), n_right[:, None]].max(axis=1)
    for other in _two_kinds(sizes, share, lowest) if lowest is not None else ():
        found = np.maximum(found, np.cumsum(other)[n_right])
    return np.asarray(np.minimum(found, 1.0))


def _tried(answers: Answers, share: float) -> Sequence[float]:
    """Correlations between one person's answers that these could have, if *share* is right."""
    if not answers.repeated:
        return (0.0,)
    likely = _log_likelihood(np.array(answers.right), np.array(answers.given), share)
    return sorted({float(GAMMAS[place]) for place in _believed(likely[None])[0]})


def _believed(likely: Vector) -> Ints:
    """Places in GAMMAS that are tried of each row: tails rise in between.

    No correlation, the largest that is as likely as `LIKELY` has it, and one between.
    """
    believed = likely >= likely.max(axis=1, keepdims=True) - LIKELY
    so_far = believed.cumsum(axis=1)
    halfway = (so_far == so_far[:, -1:] // 2 + 1).argmax(axis=1)
    last = likely.shape[1] - 1 - believed[:, ::-1].argmax(axis=1)
    return np.stack([np.zeros_like(last), halfway, last], axis=1)


def interval(answers: Answers, error: float, lowest: float | None = None) -> tuple[float, float]:
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
    high = 1.0 if x == n else _solved(lambda share: at_most(answers, share, lowest) >= error / 2.0)
    return low, high


def _solved(below: Callable[[float], bool]) -> float:
    """Where a condition ends that holds from 0 upward."""
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = (low + high) / 2.0
        low, high = (middle, high) if below(middle) else (low, middle)
    return (low + high) / 2.0
