"""Single cells: dates, choices, bounds."""

from __future__ import annotations

from datetime import date

import pytest
from pydantic_core import PydanticCustomError

from panel.intake.assessors import read_roles
from panel.intake.cells import STRENGTH, OneOf, Whole, need_name, read_day, read_text, read_yes_no
from panel.intake.file_out import cell_text
from panel.intake.parts import read_parts, write_parts
from panel.intake.score_rows import GlassMark, read_state
from panel.kinds import EventKind, Role, ServingStatus


def words(error: pytest.ExceptionInfo[PydanticCustomError]) -> str:
    return error.value.message()


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("25.11.2024", "write 2024-11-25,"),
        ("03/04/2024", "write 2024-04-03 or 2024-03-04"),
        ("2024/3/4", "write 2024-03-04"),
        ("2024-02-30", "no such day"),
        ("20240101", "year-month-day"),
        ("43832", "perhaps 2020-01-02"),
        ("yesterday", "year-month-day"),
        ("0201-01-01", "before 1900"),
        ("2024-01-01 10:30:00", "year-month-day"),
    ],
)
def test_a_date_that_is_no_iso_date_says_what_would_be_right(text: str, right: str) -> None:
    with pytest.raises(PydanticCustomError) as error:
        read_day(text)
    assert right in words(error)


def test_an_empty_cell_is_no_date() -> None:
    assert read_day("") is None
    assert read_day("2024-02-29") == date(2024, 2, 29)


@pytest.mark.parametrize(
    ("text", "right"),
    [
        ("0.635", "63.5, not 0.635"),
        ("101", "100 % vol or less"),
        ("0", "more than 0"),
        ("x", "12.5"),
    ],
)
def test_strengths_are_in_per_cent(text: str, right: str) -> None:
    with pytest.raises(PydanticCustomError) as error:
        STRENGTH(text)
    assert right in words(error)


def test_whole_numbers() -> None:
    assert Whole(1)("3.0") == 3
    assert Whole(1, default=1)("") == 1
    with pytest.raises(PydanticCustomError) as error:
        Whole(1)("2.5")
    assert "whole" in words(error)


def test_choices_in_any_case_and_with_the_nearest() -> None:
    choose = OneOf(EventKind)
    assert choose("Leak Found") is EventKind.LEAK_FOUND
    with pytest.raises(PydanticCustomError) as error:
        choose("leak fund")
    assert "nearest: leak found" in words(error)


@pytest.mark.parametrize(("text", "said"), [("Yes", True), ("0", False), ("", False)])
def test_yes_and_no(text: str, said: bool) -> None:
    assert read_yes_no(text) is said


def test_signs_that_cannot_be_seen_are_refused() -> None:
    for text in ("C1\u200b", "C\x07", "C\x1b[31m"):
        with pytest.raises(PydanticCustomError) as error:
            read_text(text)
        assert "cannot be seen" in words(error)


def test_a_name_is_one_line_and_braces_are_kept() -> None:
    assert need_name("{x} [/x]") == "{x} [/x]"
    with pytest.raises(PydanticCustomError):
        need_name("two\nlines")


def test_roles() -> None:
    assert read_roles("lead + Assessor") == {Role.LEAD, Role.ASSESSOR}
    assert read_roles("") == {Role.ASSESSOR}
    assert read_roles("none") == frozenset()


def test_parts_with_any_label() -> None:
    parts = {"C1/1": 60.0, 'a;b=c "x"': 40.5, "[/x]": 0.1}
    assert read_parts(write_parts(parts)) == parts
    assert read_parts("C1/1=60; C2/1=40") == {"C1/1": 60.0, "C2/1": 40.0}


@pytest.mark.parametrize("text", ["C1", "C1=", "C1=x", "C1=1;C1=2", "=5", "C1=0"])
def test_parts_that_are_none(text: str) -> None:
    with pytest.raises(PydanticCustomError):
        read_parts(text)


@pytest.mark.parametrize(
    "state",
    [GlassMark(status, knew) for status in ServingStatus for knew in (False, True)],
)
def test_the_state_of_a_glass_reads_back(state: GlassMark) -> None:
    assert read_state(state.words()) == state


@pytest.mark.parametrize(
    "sign", ["\u202e", "\u2066", "\u200d", "\u00ad", "\ufe0f", "\u3164", "\u2028"]
)
def test_signs_that_nobody_sees_are_in_no_name(sign: str) -> None:
    with pytest.raises(PydanticCustomError, match=rf"cannot be seen \(U\+{ord(sign):04X}\)"):
        need_name(f"Row{sign}an")


@pytest.mark.parametrize("name", ["Åsa", "Zoë 2", "酒蔵", "[/x]", "O'Neil", "कण्व", "\U0001f943"])
def test_names_of_any_script_are_names(name: str) -> None:
    assert need_name(name) == name


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, ""),
        (True, "yes"),
        (False, "no"),
        (3, "3"),
        (0.5, "0.5"),
        (date(2026, 3, 1), "2026-03-01"),
        (EventKind.RE_RACKED, EventKind.RE_RACKED.value),
        ("=1+1", "'=1+1"),
        ("  two \n", "two"),
    ],
)
def test_a_value_in_a_saved_cell_reads_back_as_what_it_was(value: object, text: str) -> None:
    assert cell_text(value) == text
    if isinstance(value, bool):
        assert read_yes_no(text) is value
