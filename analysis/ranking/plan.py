"""What so many rankings can tell, before a glass is poured."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cache

import numpy as np
import scipy.stats

from ..as_json import AsJson
from ..chance_words import in_100
from ..digits import in_digits
from ..errors import InputError
from ..readable import Readable
from .by_person import power_of_people
from .chances import squares_by_chance
from .result import BY_PERSON

ERROR = 0.05
WORLDS = 2_000
DISTANCES = (0.5, 1.0, 1.5, 2.0)
ENOUGH = 0.8
MOST_RANKINGS = 200


@dataclass(frozen=True)
class RankingPower:
    """Chance that a difference is found if first and last are so far apart, the rest between."""

    d_prime: float
    power: float


@dataclass(frozen=True, repr=False)
class RankingPlan(AsJson, Readable):
    """What a number of rankings can tell.

    Attributes
    ----------
    products, rankings, people
        Products in each, rankings in all, and by how many people, each as often as the others.
    power
        Chance that a difference is found at all, by how far first and last are apart; drawn by
        Thurstone's model, one nosing of each product with sd 1, `worlds` times.
    d_prime, needed
        Distance that rankings are reckoned for, and how many find it 8 times in 10; None: more
        than anybody gives. Of people who rank more than once each counts once.
    """

    products: int
    rankings: int
    people: int
    error: float
    power: tuple[RankingPower, ...]
    d_prime: float
    needed: int | None
    worlds: int
    seed: int

    def said(self) -> Iterator[str]:
        """Give what the rankings can tell, and how many would do."""
        chances = ", ".join(
            (f"{in_digits(at.d_prime, 'g')}: {in_100(at.power)}") for at in self.power
        )
        yield (
            f"{self.rankings} rankings of {self.products}: a difference is found, by how far first "
            f"and last are apart (d-prime), in {chances}; by chance in at most "
            f"{in_100(self.error)}."
        )
        many = "more" if self.needed is None else f"{self.needed}"
        than = " than anybody gives" if self.needed is None else ""
        each = self.rankings // self.people
        again = self.needed is not None and 1 < self.people < self.rankings
        of = f" of {(self.needed or 0) // each} people" if again else ""
        yield (
            f"For a d-prime of {in_digits(self.d_prime, 'g')}: {many} rankings{of}{than} find "
            "it 80 times in 100."
        )
        if self.people == 1 < self.rankings:
            yield "One person alone ranks them: this is of that person, and not of the panel."
        elif self.people < self.rankings:
            yield BY_PERSON

    def rows(self) -> Iterable[object]:
        """Give the power by distance."""
        return self.power


def plan_ranking(
    products: int,
    rankings: int,
    *,
    people: int | None = None,
    d_prime: float = 1.0,
    seed: int = 1,
) -> RankingPlan:
    """Reckon what a number of rankings can tell.

    Parameters
    ----------
    people
        By how many they are made, each as often as the others; by default one each.

    Raises
    ------
    InputError
        Fewer than two products or no ranking, or people who do not rank equally often.
    """
    many = rankings if people is None else people
    if products < 2 or rankings < 1 or many < 1:
        raise InputError("A ranking takes two products and one person at least.")
    if rankings % many:
        raise InputError(f"{many} people cannot give {rankings} rankings, each as many.")
    each = rankings // many if many > 1 else 1

    def power(n: int, d: float) -> float:
        if each == 1:
            return ranking_power(products, n, d, seed)
        return power_of_people(products, n, each, d, ERROR, seed)

    needed = _first_enough(lambda n: power(n, d_prime), MOST_RANKINGS // each)
    told = rankings // each
    return RankingPlan(
        products=products,
        rankings=rankings,
        people=many,
        error=ERROR,
        power=tuple(RankingPower(d, power(told, d)) for d in sorted({*DISTANCES, d_prime})),
        d_prime=d_prime,
        needed=None if needed is None else needed * each,
        worlds=WORLDS,
        seed=seed,
    )


@cache
def ranking_power(products: int, rankings: int, d_prime: float, seed: int = 1) -> float:
    """Chance that the exact test finds a difference, the products evenly between the ends."""
    rng = np.random.default_rng([seed, products, rankings])
    means = np.linspace(0.0, d_prime, products)
    nosed = means + rng.normal(size=(WORLDS, rankings, products))
    sums = scipy.stats.rankdata(nosed, axis=2).sum(axis=1)
    squares = np.sum((sums - rankings * (products + 1) / 2.0) ** 2, axis=1)
    return float(np.mean(squares >= critical_square(products, rankings, seed) - 1e-9))


@cache
def critical_square(products: int, rankings: int, seed: int = 1) -> float:
    """Least sum of squared distances of rank sums from their mean that is called different.

    Exact where that can be counted, else drawn under the same products.
    """
    counted = squares_by_chance(products, rankings)
    if counted is None:
        rng = np.random.default_rng([seed, 7, products, rankings])
        sums = rng.random((20_000, rankings, products)).argsort(axis=2).sum(axis=1) + rankings
        squares = np.sum((sums - rankings * (products + 1) / 2.0) ** 2, axis=1)
        values, times = np.unique(squares, return_counts=True)
        counted = values, times / times.sum()
    values, chances = counted
    tail = np.cumsum(chances[::-1])[::-1]
    fits = np.flatnonzero(tail <= ERROR)
    return float(values[fits[0]]) if len(fits) else float("inf")


def rankings_needed(products: int, d_prime: float, seed: int = 1) -> int | None:
    """How many rankings, one a person, find a distance 8 times in 10, by halving."""
    return _first_enough(lambda n: ranking_power(products, n, d_prime, seed), MOST_RANKINGS)


def _first_enough(power: Callable[[int], float], most: int) -> int | None:
    low, high = 1, 8
    while power(high) < ENOUGH:
        low, high = high, high * 2
        if high > most:
            return None
    while high - low > 1:
        middle = (low + high) // 2
        if power(middle) < ENOUGH:
            low = middle
        else:
            high = middle
    return high
