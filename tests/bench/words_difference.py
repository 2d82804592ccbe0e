"""Rows: two products told apart, called alike within a distance, and products ranked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd

from analysis.difference.assess import p_alike, p_different, which_is_sure
from analysis.difference.exact import Asked
from analysis.difference.facts import DifferenceWord
from analysis.difference.method import Method, right
from analysis.difference.repeats import Answers
from analysis.difference.settings import DEFAULT
from analysis.difference.verdict import word_of
from analysis.ranking import Ranking, RankingWord, assess_ranking
from tests.bench.word_rates import Row

DIFFERENT, ALIKE = "different (two products)", "alike within a d-prime"
HAS_MORE = "has more of it (stronger of two)"
RANKED, BEFORE = "the products differ (ranking)", "surely before (ranking)"
RULES = {
    DIFFERENT: "exact binomial test of right answers at .05, half of it at each end where either "
    "may be the stronger, whoever answered how often",
    HAS_MORE: "different, and the same error held by sums that allow for people who differ",
    ALIKE: "the largest chance of answers so near to chance is at most .05 if the products are as "
    "far apart as was named before; with repeats over beta-binomial sums, the correlation of one "
    "person's answers as large as is believable (a drop of log-likelihood of .5); and, where "
    "nobody can be right less often than by chance, over people of two kinds, of whom the better "
    "find the two nearly always and the others guess",
    RANKED: "Friedman's test at .05, corrected for ties, its chance counted over all orders; of "
    "people who rank more than once, over all ways to change each person's labels about",
    BEFORE: "where the products differ at all: sums further apart than the range of so many normal "
    "sums is in .05 (Nemenyi); of people who rank more than once, than the range is in .05 of all "
    "ways to change each person's labels about",
}
_ASKED = 0.05
_SHARES = np.linspace(-5.0, 8.0, 521)


@cache
def _share_right(method: Method) -> np.ndarray:
    return np.array([right(method, d) for d in _SHARES])


@cache
def _middle(method: Method, d: float, sd: float) -> float:
    """Mean of people's own distances with which as many answers are right as at one of `d`."""
    if not sd:
        return d
    wanted, low, high = right(method, d), -4.0 if method.signed else 0.0, 7.0
    for _ in range(50):
        middle = (low + high) / 2.0
        weight = np.exp(-0.5 * ((_SHARES - middle) / max(sd, 1e-3)) ** 2)
        share = float((weight * _share_right(method)).sum() / weight.sum())
        low, high = (middle, high) if share < wanted else (low, middle)
    return middle


@dataclass(frozen=True)
class Sets:
    """A session of sets: people answer so often, and differ in how far apart they find the two.

    `d` is the distance at which as many answers are right as in the whole of such people. With
    `best`, people are of two kinds: some find the two that far apart, the others guess.
    """

    asked: Asked
    people: int
    repeats: int
    d: float
    sd: float = 0.0
    best: float | None = None

    def __call__(self, seed: int) -> DifferenceWord:
        """Draw a session and return its word."""
        rng = np.random.default_rng([seed, 31])
        method = self.asked.method
        if self.d == 0.0:
            shares = np.full(self.people, method.guess)
        elif self.best is not None:
            best, guess = right(method, self.best), method.guess
            finders = (right(method, self.d) - guess) / (best - guess)
            shares = np.where(rng.random(self.people) < finders, best, guess)
        else:
            own = rng.normal(_middle(method, self.d, self.sd), self.sd, self.people)
            shares = np.interp(own, _SHARES, _share_right(method))
        return _word(self.asked, tuple(sorted(rng.binomial(self.repeats, shares))), self.repeats)


@cache
def _word(asked: Asked, right_of_each: tuple[int, ...], repeats: int) -> DifferenceWord:
    answers = Answers(right_of_each, (repeats,) * len(right_of_each))
    return word_of(p_different(answers, asked), p_alike(answers, asked), DEFAULT.error)


@dataclass(frozen=True)
class Leanings:
    """A session of pairs by people of whom each leans to a product of their own."""

    asked: Asked
    people: int
    repeats: int
    d: float
    sd: float

    def __call__(self, seed: int) -> int:
        """Draw one; return 1 or -1 for the product that is said to have more, else 0."""
        rng = np.random.default_rng([seed, 41])
        own = rng.normal(self.d, self.sd, self.people)
        shares = np.interp(own, _SHARES, _share_right(self.asked.method))
        return _said_more(
            self.asked, tuple(sorted(rng.binomial(self.repeats, shares))), self.repeats
        )


@cache
def _said_more(asked: Asked, right_of_each: tuple[int, ...], repeats: int) -> int:
    answers = Answers(right_of_each, (repeats,) * len(right_of_each))
    if p_different(answers, asked) > DEFAULT.error or not which_is_sure(answers, asked):
        return 0
    return 1 if 2 * answers.n_right > answers.n else -1


def said_of_either(said: int) -> Iterator[bool]:
    """Whether it is said of any."""
    yield said != 0


def said_of_the_first(said: int) -> Iterator[bool]:
    """Whether it is said of the one that has."""
    yield said > 0


def called_different(word: DifferenceWord) -> Iterator[bool]:
    """Whether the products are called different."""
    yield word is DifferenceWord.DIFFERENT


def called_alike(word: DifferenceWord) -> Iterator[bool]:
    """Whether they are called alike."""
    yield word is DifferenceWord.ALIKE


@dataclass(frozen=True)
class Ranks:
    """A ranking of products by people with sd 1 of noise; `levels` rounds what they smell.

    Each ranks `each` times, and has lasting opinions of the products with sd `own`.
    """

    means: tuple[float, ...]
    people: int
    levels: float = 0.0
    each: int = 1
    own: float = 0.0

    def __call__(self, seed: int) -> Ranking:
        """Draw and judge one."""
        rng = np.random.default_rng([seed, 37])
        many = (self.people, len(self.means))
        lasting = rng.normal(0.0, self.own, many) if self.own else np.zeros(many)
        lasting = np.repeat(lasting, self.each, axis=0)
        nosed = lasting - np.array(self.means) + rng.normal(size=lasting.shape)
        nosed = np.round(nosed / self.levels) if self.levels else nosed
        rows = [
            {
                "assessor": f"A{who // self.each}",
                "set": 1 + who % self.each,
                "product": f"P{product}",
                "place": 1.0 + float(np.sum(nosed[who] < nosed[who, product])),
                "status": "kept",
            }
            for who in range(self.people * self.each)
            for product in range(len(self.means))
        ]
        return assess_ranking(pd.DataFrame(rows), seed=seed)


def called_apart(found: Ranking) -> Iterator[bool]:
    """Whether the products are said to differ."""
    yield found.verdict.word is RankingWord.DIFFERENT


def equals_apart(found: Ranking) -> Iterator[bool]:
    """Whether one of the equal ones, all but the first, is said to stand before another."""
    equal = {one.product for one in found.products} - {"P0"}
    yield any(set(one.below) & equal for one in found.products if one.product in equal)


def any_before(found: Ranking) -> Iterator[bool]:
    """Whether any product is said to stand before another."""
    yield any(one.below for one in found.products)


def rows() -> Iterator[Row]:
    """All rows on products told apart and ranked."""
    yield from _different_rows()
    yield from _more_rows()
    yield from _alike_rows()
    yield from _two_kinds_rows()
    yield from _ranking_rows()
    yield from _several_rows()


def _different_rows() -> Iterator[Row]:
    pairs, one_way, fours = (
        Asked(Method.STRONGER),
        Asked(Method.STRONGER, both_ways=False),
        Asked(Method.TWO_AND_TWO),
    )
    # Of 60 like the first it is .046 exactly, which no bound of a sample shows: so 36.
    odd, like = Asked(Method.ODD_ONE_OUT), Asked(Method.LIKE_THE_FIRST)
    for name, asked, people, repeats in (
        *(("pairs-26x1", one_way, 26, 1), ("pairs-12x2", pairs, 12, 2), ("pairs-6x5", pairs, 6, 5)),
        *(("fours-24x1", fours, 24, 1), ("fours-12x3", fours, 12, 3)),
        *(("odd-18x1", odd, 18, 1), ("odd-12x5", odd, 12, 5)),
        *(("like-24x1", like, 24, 1), ("like-12x3", like, 12, 3)),
    ):
        where = f"the same product twice, {_words(asked)}, {people} people x {repeats}"
        draw = Sets(asked, people, repeats, 0.0)
        yield Row(f"different-{name}", DIFFERENT, where, _ASKED, True, draw, called_different, 2000)
    for name, asked, people, repeats, d, enough in (
        ("pairs-26x1", one_way, 26, 1, 1.0, 0.8),
        ("pairs-13x2", one_way, 13, 2, 1.0, 0.8),
        ("pairs-33x1", pairs, 33, 1, 1.0, 0.78),
        ("fours-75x1", fours, 75, 1, 1.0, 0.8),
        ("fours-20x1", fours, 20, 1, 1.5, 0.78),
        ("odd-220x1", odd, 220, 1, 1.0, 0.76),
        ("odd-57x1", odd, 57, 1, 1.5, 0.76),
        ("odd-12x5", odd, 12, 5, 1.5, 0.76),
        ("odd-23x1", odd, 23, 1, 2.0, 0.76),
        ("like-241x1", like, 241, 1, 1.0, 0.76),
        ("like-65x1", like, 65, 1, 1.5, 0.76),
        ("like-13x5", like, 13, 5, 1.5, 0.76),
        ("like-28x1", like, 28, 1, 2.0, 0.76),
    ):
        where = f"{d:g} apart, {_words(asked)}, {people} people x {repeats}"
        draw = Sets(asked, people, repeats, d)
        yield Row(f"different-true-{name}", DIFFERENT, where, enough, False, draw, called_different)


def _more_rows() -> Iterator[Row]:
    asked = Asked(Method.STRONGER)
    for people, repeats, sd in ((9, 3, 1.0), (9, 3, 2.0), (14, 4, 2.0), (6, 6, 3.0)):
        where = f"{people} people, {repeats} pairs each; none on average, people by sd {sd:g}"
        draw = Leanings(asked, people, repeats, 0.0, sd)
        name = f"more-{people}x{repeats}-{sd:g}"
        yield Row(name, HAS_MORE, where, _ASKED, True, draw, said_of_either, 2000)
    for people, repeats, sd in ((9, 3, 0.5), (14, 4, 0.5), (14, 4, 1.0)):
        where = f"{people} people, {repeats} pairs each; d-prime 1, people by sd {sd:g}"
        draw = Leanings(asked, people, repeats, 1.0, sd)
        name = f"more-true-{people}x{repeats}-{sd:g}"
        yield Row(name, HAS_MORE, where, None, False, draw, said_of_the_first)


def _words(asked: Asked) -> str:
    if not asked.method.signed:
        return asked.method.value
    return "pairs, either way" if asked.both_ways else "pairs, one way"


def _alike_rows() -> Iterator[Row]:
    pairs = Asked(Method.STRONGER, alike_within=1.0)
    fours = Asked(Method.TWO_AND_TWO, alike_within=1.0)
    wide = Asked(Method.TWO_AND_TWO, alike_within=1.5)
    # Exactly, 24 threes are called alike in .048: no bound of a sample shows that it is below .05.
    odd, like = (
        Asked(way, alike_within=2.0) for way in (Method.ODD_ONE_OUT, Method.LIKE_THE_FIRST)
    )
    for name, asked, people, repeats in (
        *(("pairs-33x1", pairs, 33, 1), ("pairs-12x4", pairs, 12, 4), ("pairs-10x6", pairs, 10, 6)),
        *(("fours-69x1", fours, 69, 1), ("fours-12x4", wide, 12, 4), ("fours-17x4", fours, 17, 4)),
        *(("odd-36x1", odd, 36, 1), ("odd-12x5", odd, 12, 5)),
        *(("like-28x1", like, 28, 1), ("like-12x5", like, 12, 5)),
    ):
        within = asked.alike_within or 0.0
        spreads = (0.0, 1.0, 2.0) if asked.method.signed else (0.0, 0.5, 1.0)
        for sd in spreads if repeats > 1 else (0.0,):
            differ = f", people's own distances with sd {sd:g}" if sd else ""
            where = f"{within:g} apart, {_words(asked)}, {people} people x {repeats}{differ}"
            draw = Sets(asked, people, repeats, within, sd)
            name_sd = f"alike-{name}-sd{sd:g}"
            yield Row(name_sd, ALIKE, where, _ASKED, True, draw, called_alike, 2000)
        where = f"the same product twice, {_words(asked)}, {people} people x {repeats}"
        enough = 0.78 if repeats == 1 else None
        draw = Sets(asked, people, repeats, 0.0)
        yield Row(f"alike-true-{name}", ALIKE, where, enough, False, draw, called_alike)


def _ranking_rows() -> Iterator[Row]:
    for products, people, levels in ((3, 12, 0.0), (4, 7, 0.0), (3, 8, 1.5)):
        tied = ", many ties" if levels else ""
        where = f"{products} products that are the same, {people} people{tied}"
        draw = Ranks((0.0,) * products, people, levels)
        name = f"ranking-{products}x{people}{'-tied' if levels else ''}"
        # Counted over all orders it is .041 with four products and .047 with ties: no bound of a
        # sample shows that such a rate is below .05.
        asked = _ASKED if products == 3 and not levels else None
        yield Row(name, RANKED, where, asked, True, draw, called_apart, 4000)
    for products, people in ((3, 12), (4, 8)):
        where = (
            f"one of {products} products 2 before the others, which are the same, {people} people"
        )
        draw = Ranks((2.0, *(0.0,) * (products - 1)), people)
        yield Row(
            *(f"before-{products}x{people}", BEFORE, where, _ASKED, True, draw, equals_apart, 1000)
        )
    for products, people, d in ((3, 12, 1.5), (4, 12, 1.5), (3, 29, 1.0)):
        where = (
            f"first and last {d:g} apart, the rest between, {products} products, {people} people"
        )
        draw = Ranks(tuple(np.linspace(d, 0.0, products)), people)
        yield Row(
            f"ranking-true-{products}x{people}", RANKED, where, 0.65, False, draw, called_apart
        )


def _two_kinds_rows() -> Iterator[Row]:
    """People of two kinds as far apart on the whole as was named: some find it, others guess."""
    ways = (Method.TWO_AND_TWO, Method.ODD_ONE_OUT, Method.LIKE_THE_FIRST)
    for method, within, people, repeats, best in (
        *((ways[0], 1.0, 6, 12, 6.0), (ways[0], 1.0, 8, 12, 3.0), (ways[0], 1.0, 8, 20, 6.0)),
        *((ways[0], 1.5, 4, 12, 6.0), (ways[1], 2.0, 8, 12, 6.0), (ways[2], 2.0, 8, 12, 6.0)),
    ):
        asked = Asked(method, alike_within=within)
        where = (
            f"{within:g} apart on the whole, {method.value}, {people} people x {repeats}: some "
            f"find {best:g}, the others guess"
        )
        draw = Sets(asked, people, repeats, within, best=best)
        name = f"alike-kinds-{method.value.split()[0]}-{within:g}-{people}x{repeats}-{best:g}"
        yield Row(name, ALIKE, where, _ASKED, True, draw, called_alike, 12000)
    for method, within, people, repeats in ((ways[0], 1.0, 8, 12), (ways[0], 1.5, 6, 12)):
        asked = Asked(method, alike_within=within)
        where = f"the same product twice, {method.value}, {people} people x {repeats}"
        name = f"alike-kinds-true-{within:g}-{people}x{repeats}"
        draw = Sets(asked, people, repeats, 0.0)
        yield Row(name, ALIKE, where, None, False, draw, called_alike)


def _several_rows() -> Iterator[Row]:
    """People who rank several times and have lasting opinions of products alike to the panel."""
    for products, people, each, own in ((3, 3, 4, 1.0), (3, 5, 3, 1.0), (3, 8, 2, 1.0)):
        where = (
            f"{products} products that are the same to a panel, {people} people x {each}, lasting "
            f"opinions with sd {own:g}"
        )
        draw = Ranks((0.0,) * products, people, 0.0, each, own)
        name = f"before-several-{products}x{people}x{each}"
        # The test is exact, so near .05 that no bound of a sample shows it with many people.
        asked = _ASKED if people < 5 else None
        yield Row(name, BEFORE, where, asked, True, draw, any_before, 2000)
    where = "first and last 1.5 apart, 3 products, 8 people x 2, opinions with sd 0.5"
    draw = Ranks((1.5, 0.75, 0.0), 8, 0.0, 2, 0.5)
    yield Row("ranking-true-3x8x2", RANKED, where, None, False, draw, called_apart)
