"""The page of false rates is what was measured, of every row that is registered."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from tests.bench.bench_words import PAGE, all_rows, page, rules, wanted
from tests.bench.word_rates import Row, Tally, holds, kept, line, measure, outcome


@dataclass(frozen=True)
class EveryNth:
    """A word said in each nth draw, as often as there are chances."""

    n: int
    chances: int = 1

    def __call__(self, seed: int) -> list[bool]:
        return [seed % self.n == self.n - 1] * self.chances


def as_drawn(drawn: list[bool]) -> Iterator[bool]:
    yield from drawn


def row(asked: float | None, n: int, *, chances: int = 1, false: bool = True) -> Row:
    draw = EveryNth(n, chances)
    return Row("r", "word", "where", asked, false, draw, as_drawn, draws=100, most=1000)


def measured(one: Row) -> Tally:
    ((_, tally),) = measure([one])
    return tally


def test_the_page_is_written_from_what_is_kept() -> None:
    assert PAGE.read_text(encoding="utf-8") == page()


def test_every_row_was_measured_and_no_other() -> None:
    names = {one.name for one in all_rows()}
    assert set(kept()) == names, "python -m tests.bench.bench_words missing"
    assert all(kept()[one.name].draws >= one.draws for one in all_rows())


def test_every_sentence_of_the_table_says_which_world_and_what_was_asked() -> None:
    for one in all_rows():
        assert one.where
        assert one.asked is None or 0.0 < one.asked < 1.0
    assert all(rules().values())


def test_rows_are_asked_for_by_how_their_names_begin() -> None:
    found = wanted(["alike-equal-1", "two-25"])
    assert [one.name for one in found] == ["alike-equal-1", "two-25"]
    assert len(wanted(["alike-"])) > 5


def test_the_bound_is_that_of_the_binomial() -> None:
    """None of 59 is at most .05, as 1 - .05 ** (1 / 59) = .0495 says."""
    tally = Tally()
    for _ in range(59):
        tally.take([False])
    assert tally.bound == pytest.approx(1.0 - 0.05 ** (1.0 / 59.0))


def test_chances_that_hang_together_count_once() -> None:
    """Ten chances a draw that are all one: as good as one, but for the n - 1."""
    one, ten = measured(row(0.9, 10)), measured(row(0.9, 10, chances=10))
    assert ten.together == pytest.approx(10.0, rel=0.02)
    assert ten.bound == pytest.approx(one.bound, abs=0.002)


def test_draws_are_added_until_the_bound_holds_or_it_is_plain() -> None:
    assert measured(row(0.3, 20)).draws == 100
    more = measured(row(0.07, 20))
    assert 100 < more.draws <= 1000
    assert holds(row(0.07, 20), more)
    at_the_edge, plain = measured(row(0.0505, 20)), measured(row(0.02, 20))
    assert at_the_edge.draws == 1000
    assert outcome(row(0.0505, 20), at_the_edge) == "met, bound open"
    assert plain.draws == 100
    assert "MISSED" in line(row(0.02, 20), plain)


def test_what_is_found_is_asked_at_least() -> None:
    tally = measured(row(0.04, 20, false=False))
    assert outcome(row(0.04, 20, false=False), tally) == "met"
    assert outcome(row(0.06, 20, false=False), tally) == "MISSED"
    assert outcome(row(None, 20, false=False), tally) == "told"
