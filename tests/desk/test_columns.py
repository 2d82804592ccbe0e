from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from panel.desk.columns import Column, fit, fitting, has_all_words, in_order, natural, suited

TEXTS = st.text(max_size=30)


@given(TEXTS, st.integers(1, 40), st.booleans())
def test_any_text_takes_exactly_its_width_and_stays_on_its_line(
    text: str, width: int, right: bool
) -> None:
    shown = fit(text, width, right=right)
    assert cell_len(shown) == width
    assert shown.isprintable()


def test_escape_codes_and_line_ends_do_not_reach_the_terminal() -> None:
    assert fit("a\x1b[31m\nb", 8) == "a·[31m·b"


@given(st.lists(st.integers(0, 10_000), max_size=20))
def test_numbers_in_names_sort_as_numbers(numbers: list[int]) -> None:
    names = [f"SW{number}" for number in numbers]
    assert sorted(names, key=natural) == [f"SW{number}" for number in sorted(numbers)]


@given(st.lists(st.one_of(st.none(), st.integers()), max_size=20), st.booleans())
def test_rows_without_a_value_stand_last_either_way(
    values: list[int | None], falling: bool
) -> None:
    column: Column[int | None] = Column("Value", 5, str, lambda row: row)
    ordered = in_order(values, column, falling=falling)
    known = [value for value in ordered if value is not None]
    assert ordered[: len(known)] == sorted(known, reverse=falling)
    assert len(ordered) == len(values)


@given(st.lists(st.integers(1, 30), min_size=1, max_size=12), st.integers(30, 200))
def test_columns_shown_fit_the_width(widths: list[int], width: int) -> None:
    columns: list[Column[str]] = [Column("X", each, str) for each in widths]
    shown = fitting(columns, width)
    assert sum(column.width + 1 for column in shown) - 1 <= width


def test_one_column_takes_the_room_that_is_left() -> None:
    columns: list[Column[str]] = [Column("A", 5, str), Column("B", 5, str, stretch=True)]
    assert [column.width for column in fitting(columns, 40)] == [5, 34]


def test_columns_are_no_wider_than_what_stands_in_them() -> None:
    columns: list[Column[str]] = [Column("Cask", 20, str)]
    assert suited(columns, ["SW0801", "SW0802"])[0].width == 6
    assert suited(columns, ["a"])[0].width == 5, "the heading and its arrow still fit"


def test_the_capital_of_a_heading_is_its_key() -> None:
    assert Column[str]("In site", 9, str).letter == "I"


def test_words_are_found_in_any_order() -> None:
    assert has_all_words("sw12 oak barrel shed 3", ["shed", "sw1"])
    assert not has_all_words("sw12 oak barrel shed 3", ["shed", "butt"])


def test_room_that_is_left_goes_where_something_is_cut() -> None:
    rows = ["European oak hogshead"]
    columns = [
        Column[str]("Wood", 12, lambda row: row),
        Column[str]("Kind", 8, lambda _: "bar"),
        Column[str]("Before", 9, lambda _: "", stretch=True),
    ]
    wide = fitting(suited(columns, rows), 60)
    assert [column.width for column in wide][:2] == [21, 5]
    assert sum(column.width + 1 for column in wide) == 61, "what is left then stretches"
    narrow = fitting(suited(columns, rows), 30)
    assert [column.width for column in narrow] == [16, 5, 7]
