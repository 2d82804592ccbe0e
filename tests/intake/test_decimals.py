"""Numbers: the mark is told apart by evidence or refused, never guessed."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.figures import with_comma
from panel.intake.decimals import parse_number, settle_decimals
from panel.intake.parts import number_text
from panel.intake.table import Marks, Row, Table, TypedNumber


def column(cells: list[str], marks: Marks) -> Table:
    rows = [Row(number, [cell]) for number, cell in enumerate(cells, start=2)]
    return Table("f.csv", ("abv",), 1, rows, marks)


def settled(cells: list[str], marks: Marks = Marks.EITHER) -> tuple[list[str], list[str]]:
    settled = settle_decimals(column(cells, marks), {"abv"})
    table, problems = settled.table, settled.problems
    return [row.cells[0] for row in table.rows], [problem.message for problem in problems]


@pytest.mark.parametrize(
    ("text", "number"),
    [("12", 12), ("12.5", 12.5), ("-3", -3), (".5", 0.5), ("1e-07", 1e-7), ("-0", 0), ("+4", 4)],
)
def test_plain_numbers(text: str, number: float) -> None:
    assert parse_number(text) == number
    assert math.copysign(1, parse_number(text)) == math.copysign(1, number)


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("12,5", "write 12.5:"),
        ("1,234", "could be 1234 or 1.234"),
        ("1,234.5", "write 1234.5:"),
        ("1.234,5", "write 1234.5:"),
        ("1 234", "write 1234:"),
        ("1'234'567", "write 1234567:"),
        ("1.234.567", "write 1234567:"),
        ("63.5 %", "63.5"),
        ("63,5% vol", "63.5"),
        ("190 L", "190"),
        ("n/a", "empty"),
        ("NaN", "empty"),
        ("inf", "finite"),
        ("1e999", "finite"),
        ("1_000", "a number such as"),
        ("\u0661\u0662", "a number such as"),
        ("twelve", "a number such as"),
    ],
)
def test_what_is_refused_says_what_would_be_right(text: str, right: str) -> None:
    with pytest.raises(ValueError, match=re.escape(right)):
        parse_number(text)


def test_one_sure_comma_settles_the_file() -> None:
    assert settled(["63,5", "1,234", "12"]) == (["63.5", "1.234", "12"], [])


def test_commas_that_could_all_be_thousands_are_refused() -> None:
    _, faults = settled(["1,234", "2,500"])
    assert faults == [
        "could be 1234 or 1.234: write the one that is meant",
        "could be 2500 or 2.500: write the one that is meant",
    ]


@pytest.mark.parametrize("text", ["1,234", "12,345", "123,456", "-123,456", "123.456"])
def test_up_to_three_digits_before_a_group_of_three_are_refused(text: str) -> None:
    """123,456 is a whole number to one reader and a little more than 123 to another."""
    _, faults = settled([text])
    assert faults == [
        f"could be {text.replace(',', '').replace('.', '')} or {text.replace(',', '.')}: "
        "write the one that is meant"
    ]


@pytest.mark.parametrize("text", ["0,123", "01,234", "1234,567"])
def test_what_nobody_writes_for_thousands_is_a_decimal(text: str) -> None:
    """No group of thousands starts with a 0 or has four digits."""
    assert settled([text]) == ([text.replace(",", ".")], [])


def test_points_that_could_all_be_thousands_are_refused_beside_semicolons() -> None:
    _, faults = settled(["1.234"])
    assert "1234 or 1.234" in faults[0]


def test_points_are_decimals_beside_commas() -> None:
    assert settled(["1.234"], Marks.POINT) == (["1.234"], [])


def test_two_marks_in_one_file_are_refused_where_the_rarer_stands() -> None:
    cells = column(["63,5", "62,1", "60.5"], Marks.EITHER)
    problems = settle_decimals(cells, {"abv"}).problems
    assert [(problem.row, problem.value) for problem in problems] == [(4, "60.5")]
    assert "one mark in the whole file" in problems[0].message


def test_a_workbooks_own_number_is_no_question() -> None:
    assert settled([TypedNumber("1.234")]) == (["1.234"], [])


@given(
    numbers=st.lists(st.integers(-10_000_000, 10_000_000), min_size=1, max_size=8),
    digits=st.integers(1, 4),
    mark=st.sampled_from([",", "."]),
    thousands=st.booleans(),
)
def test_a_number_is_read_right_or_refused(
    numbers: list[int], digits: int, mark: str, thousands: bool
) -> None:
    """Whole files in one style: every cell comes back as written, or the file has a fault."""
    values = [number / 10**digits for number in numbers]
    other = "." if mark == "," else ","
    texts = [f"{value:,.{digits}f}" if thousands else f"{value:.{digits}f}" for value in values]
    if mark == ",":
        texts = [text.translate(str.maketrans(",.", ".,")) for text in texts]
    cells, faults = settled(texts)
    for value, cell, text in zip(values, cells, texts, strict=True):
        try:
            read = parse_number(cell)
        except ValueError:
            assert other in text or faults or mark == ","
            continue
        assert faults or read == pytest.approx(value, abs=1e-9)


@given(st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=1, max_size=6))
def test_what_is_written_with_a_comma_can_mean_only_that(numbers: list[float]) -> None:
    cells, faults = settled([with_comma(number_text(number)) for number in numbers])
    assert faults == []
    assert [parse_number(text) for text in cells] == [number + 0.0 for number in numbers]
