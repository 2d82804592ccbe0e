"""Rows: what moves with what; houses and truths are in tests/bench/bench_words_influences.py."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from analysis.influences.factor_tests import FactorTest
from tests.bench.bench_words_influences import HOUSES, House, is_false, judged
from tests.bench.word_rates import Row

RULES = {
    "moves with": "one F a factor and note, denominator by the level a factor lives at (age, peat, "
    "make: the batch of filling), Benjamini & Hochberg .05 over notes and factors; nothing below "
    "sixty casks, of peat nothing below six makes; what one another make up is tested as one set, "
    "by all its columns or by those but for the makes, the better of the two paying for the choice",
}
WORD = "moves with"
MANY, LEAST_MAKES = 120, 6
ONE_OF_A_KIND = (0, 1, 2, 3, 7, 9, 11, 12)
"""Which houses have rows here; bench_words_influences prints all of them."""


@dataclass(frozen=True)
class HouseTests:
    """One invented house and all that is tested of it."""

    house: House

    def __call__(self, seed: int) -> tuple[FactorTest, ...]:
        """Draw and test."""
        return judged(self.house, seed)


def falsely(house: House, tests: tuple[FactorTest, ...]) -> list[bool]:
    """Of each claim whether it is false."""
    return [is_false(house, test) for test in tests if test.holds]


def any_claim(house: House, tests: tuple[FactorTest, ...]) -> Iterator[bool]:
    """Whether anything is claimed that is not so."""
    yield any(falsely(house, tests))


def each_claim(house: House, tests: tuple[FactorTest, ...]) -> Iterator[bool]:
    """Of each claim whether it is false."""
    yield from falsely(house, tests)


def found(note: str, factor: str, tests: tuple[FactorTest, ...]) -> Iterator[bool]:
    """Whether what moves a note is claimed of it."""
    yield any(
        t.holds for t in tests if (t.descriptor, t.factor) == (note, factor) and not t.together
    )


def found_together(note: str, factor: str, tests: tuple[FactorTest, ...]) -> Iterator[bool]:
    """Whether a set with what moves a note is claimed of it."""
    yield any(t.holds for t in tests if t.descriptor == note and factor in t.together)


def rows() -> Iterator[Row]:
    """All rows on influences."""
    for at in ONE_OF_A_KIND:
        house = HOUSES[at]
        draw = HouseTests(house)
        if not house.real:
            where = f"any false claim: {house.name}"
            read = partial(any_claim, house)
            yield Row(f"moves-null-{at}", WORD, where, 0.10, True, draw, read, 200, 1200, "houses")
            continue
        where = f"claims that are false: {house.name}"
        read = partial(each_claim, house)
        n = 200 if house.aliased is None else 100
        yield Row(f"moves-share-{at}", WORD, where, 0.08, True, draw, read, n, 1200, "houses")
        if house.aliased is not None:
            yield from _of_sets(at, house, draw)
            continue
        for note, factor, asked in (("0", "phenols", 0.9), ("1", "wood", _wood(house))):
            least = asked if house.n_casks >= MANY else None
            where = f"{factor}: {house.name}"
            name, read = f"moves-{factor}-{at}", partial(found, note, factor)
            if factor == "phenols" and house.makes < LEAST_MAKES:
                continue
            yield Row(name, WORD, where, least, False, draw, read, 200, 1200, "houses")


def _wood(house: House) -> float:
    return 0.9 if house.makes >= LEAST_MAKES else 0.5


def _of_sets(at: int, house: House, draw: HouseTests) -> Iterator[Row]:
    """How often what goes together is found together, and age beside it."""
    where = f"wood, phenols or make, not told apart: {house.name}"
    read = partial(found_together, "0", "phenols")
    yield Row(f"moves-joint-{at}", WORD, where, 0.9, False, draw, read, 100, 1200, "houses")
    age = partial(found, "2", "age")
    where = f"age: {house.name}"
    yield Row(f"moves-age-{at}", WORD, where, None, False, draw, age, 100, 1200, "houses")
