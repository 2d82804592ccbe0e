"""How often the same product twice is called alike, by the very rule of the finding.

With one answer a person that is binomial and exact. Where people answer several times, alike has
to hold for people who may differ, and what the rule allows them to differ by hangs on who was right
how often. So outcomes are gone through person by person: all of them where they are few, else some
drawn with a fixed seed. The people themselves are taken to be equal.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import combinations_with_replacement

import numpy as np
from scipy.special import gammaln
from scipy.stats import binom

from ..array_types import Ints, Vector
from .exact import MOST_ANSWERS, Asked, Needed, needed_alike, power_alike
from .method import lowest_of, right
from .repeats import at_most_of_each

MOST_OUTCOMES = 8_000
"""Outcomes that are all gone through; where there are more, they are drawn."""
DRAWN, SEED = 8_000, 20_260
"""Outcomes drawn: a chance is then known within .01, 19 times in 20."""
BEYOND = 4
"""Numbers of people looked at beyond the first that is enough: so far powers fall back."""


@cache
def power_alike_of(asked: Asked, people: int, each: int, d: float = 0.0) -> float:
    """Chance that people who answer `each` times are said to find the two alike.

    Examples
    --------
    >>> from analysis.difference import Method
    >>> asked = Asked(Method.STRONGER, alike_within=1.0)
    >>> [round(power_alike_of(asked, n, 12), 2) for n in (3, 8)]
    [0.0, 0.97]
    >>> power_alike_of(asked, 33, 1) == power_alike(asked, 33)
    True
    """
    if asked.alike_within is None or each == 1:
        return power_alike(asked, people * each, d)
    outcomes, chances = _outcomes(people, each, right(asked.method, d))
    hopeful = _near_enough(asked, outcomes.sum(axis=1), people * each)
    outcomes, chances = outcomes[hopeful], chances[hopeful]
    if not len(outcomes):
        return 0.0
    share, lowest = right(asked.method, asked.alike_within), lowest_of(asked.method)
    p = at_most_of_each(outcomes, each, share, lowest)
    if asked.method.signed:
        p = np.maximum(p, at_most_of_each(each - outcomes, each, share, lowest))
    return float(chances[p <= asked.error].sum())


def _outcomes(people: int, each: int, share: float) -> tuple[Ints, Vector]:
    """Outcomes, right answers of each person in rising order, and the chance of each."""
    if math.comb(people + each, people) <= MOST_OUTCOMES:
        every = np.array(list(combinations_with_replacement(range(each + 1), people)))
        one = binom.logpmf(np.arange(each + 1), each, share)
        times = np.array([(every == k).sum(axis=1) for k in range(each + 1)])
        ways = gammaln(people + 1) - gammaln(times + 1).sum(axis=0)
        return every, np.asarray(np.exp(ways + one[every].sum(axis=1)))
    rng = np.random.default_rng([SEED, people, each])
    drawn = np.sort(rng.binomial(each, share, (DRAWN, people)), axis=1)
    kinds, times = np.unique(drawn, axis=0, return_counts=True)
    return kinds, np.asarray(times / DRAWN)


def _near_enough(asked: Asked, n_right: Ints, n: int) -> np.ndarray:
    """Which of these could be called alike at all: not different, and near if people are equal."""
    guess, share = asked.method.guess, right(asked.method, asked.alike_within or 0.0)
    if not asked.method.signed:
        apart = binom.sf(n_right - 1, n, guess)
        return np.asarray((apart > asked.error) & (binom.cdf(n_right, n, share) <= asked.error))
    more = np.maximum(n_right, n - n_right)
    apart = 2.0 * binom.sf(more - 1, n, guess) if asked.two_sided else binom.sf(n_right - 1, n, 0.5)
    return np.asarray((apart > asked.error) & (binom.cdf(more, n, share) <= asked.error))


@cache
def needed_alike_of(asked: Asked, each: int, power: float) -> Needed:
    """How many answers, `each` a person, find the same product twice alike with a power.

    One person a time is added, from as many as would do if all their answers were other people's;
    among many people a twentieth a time.

    Examples
    --------
    >>> from analysis.difference import Method
    >>> needed_alike_of(Asked(Method.STRONGER, alike_within=1.0), 12, 0.8)
    Needed(first=60, stays=60)
    """
    alone = needed_alike(asked, power)
    if each == 1 or alone.first is None:
        return alone
    people = max(math.ceil(alone.first / each), 1)
    first = stays = None
    enough_since = 0
    while people * each <= MOST_ANSWERS and enough_since <= BEYOND:
        if power_alike_of(asked, people, each) >= power:
            first = people if first is None else first
            stays = people if not enough_since else stays
            enough_since += 1
        else:
            enough_since, stays = 0, None
        people += max(people // 20, 1)
    done = stays is not None and enough_since > BEYOND
    return Needed(None if first is None else first * each, stays * each if done and stays else None)
