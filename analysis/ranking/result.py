"""What a ranking says: frozen values that know how to become JSON."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from ..agreement.verdict.words import Verdict
from ..as_json import AsJson
from ..digits import in_digits
from ..readable import Readable

BY_PERSON = (
    "Each person counts once, with all of their sets together: one person's sets are not so many "
    "people's."
)
LEAST_P = 0.0001
"""Chances below it are said as such, not as a figure."""


class RankingWord(StrEnum):
    """What is said of products that were ranked."""

    DIFFERENT = "different"
    CANNOT_TELL = "cannot tell yet"
    TOO_LITTLE = "too little yet"


class ChanceBy(StrEnum):
    """How the chance of a statistic was come by."""

    COUNTED = "all orders counted"
    DRAWN = "orders drawn at random"


@dataclass(frozen=True)
class RankedProduct:
    """One product in a ranking.

    Attributes
    ----------
    sum, mean
        Of its ranks, 1 the first; the less, the more it has of what was asked about.
    below
        Products that it surely stands before.
    """

    product: str
    sum: float
    mean: float
    below: tuple[str, ...]


@dataclass(frozen=True, repr=False)
class Ranking(AsJson, Readable):
    """Products in the order in which people ranked them.

    Attributes
    ----------
    products
        First the one with the most.
    chi_square, p, chance_by
        Friedman's statistic, corrected for ties, and its chance if the products are the same. Of
        people who ranked more than once each counts once, with the sums of all sets.
    least_difference, least_difference_of_all
        Of two sums: for one pair named before, and for all pairs at once; the latter is what
        `below` goes by. None where none would do.
    rankings_needed
        Of a new session, for a d-prime of 1 between first and last, 8 times in 10.
    products_left_out
        Products of which nobody's glass counts, with why.
    """

    session: str
    note: str | None
    n_rankings: int
    n_people: int
    n_tied: int
    products: tuple[RankedProduct, ...]
    chi_square: float | None
    p: float | None
    chance_by: ChanceBy | None
    least_difference: float | None
    least_difference_of_all: float | None
    rankings_needed: int | None
    error: float
    left_out: Mapping[str, int]
    products_left_out: Mapping[str, str]
    verdict: Verdict[RankingWord]

    def said(self) -> Iterator[str]:
        """Give the finding, then the figures."""
        yield self.verdict.sentence
        yield from figures(self)

    def rows(self) -> Iterable[object]:
        """Give the products."""
        return self.products


def _chance(p: float) -> str:
    """Return a chance in words: nothing that can happen has a chance of 0."""
    return f"p below {in_digits(LEAST_P, '.4f')}" if p < LEAST_P else f"p {in_digits(p, '.4f')}"


def figures(found: Ranking) -> Iterator[str]:
    """Give the figures behind a finding as sentences."""
    if found.p is None or found.chi_square is None or found.chance_by is None:
        return
    for product in found.products:
        yield (
            f"{product.product}: mean rank {in_digits(product.mean, '.2f')}, sum "
            f"{in_digits(product.sum, 'g')}."
        )
    yield (
        f"Friedman {in_digits(found.chi_square, '.2f')}, {_chance(found.p)} "
        f"({found.chance_by.value}); "
        f"{found.n_rankings} rankings of {found.n_people} people, {found.n_tied} with ties."
    )
    if 1 < found.n_people < found.n_rankings:
        yield BY_PERSON
    if found.least_difference is None:
        yield "So few people can be sure of no two products, whatever they answer."
    elif found.least_difference_of_all is None:
        yield (
            "So few people can be sure of no two products but a pair named before, from "
            f"{in_digits(found.least_difference, '.1f')} between their sums on."
        )
    else:
        yield _sure_from(found)
    if found.left_out:
        listed = ", ".join(f"{n} {why}" for why, n in found.left_out.items())
        yield f"Left out: {listed}."


def _sure_from(found: Ranking) -> str:
    return (
        "Sums of two products differ surely from "
        f"{in_digits(found.least_difference_of_all, '.1f')} on (of a "
        f"pair named before from {in_digits(found.least_difference, '.1f')} on)."
    )
