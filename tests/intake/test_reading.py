"""Bytes to cells: encodings, separators, quotes, row numbers."""

from __future__ import annotations

import csv
import io
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.intake.csv_text import find_separator, read_csv
from panel.intake.headings import Finder
from panel.intake.kinds import Kind
from panel.intake.letters import Letters
from panel.intake.loading import columns_of
from panel.intake.reading import read_table
from panel.intake.table import Marks, Table, clean, guard
from panel.problems import Problem

KNOWN = ("make", "site", "cereal", "phenol_ppm", "campaign", "note")
HEADINGS = "make,site,cereal,phenol_ppm"


FIND = Finder(partial(columns_of, Kind.MAKES))


def read(data: bytes) -> tuple[Table | None, list[Problem]]:
    return read_table(data, "f.csv", Kind.MAKES, FIND)


def cells(data: bytes) -> list[list[str]]:
    table, problems = read(data)
    assert table is not None
    assert problems == []
    return [list(row.cells) for row in table.rows]


def refusal(data: bytes) -> Problem:
    table, problems = read(data)
    assert table is None
    return problems[0]


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_the_shapes_that_programs_write_give_the_same_cells(
    mark: bytes, separator: str, end: str
) -> None:
    lines = ["make,site,cereal,phenol_ppm", "plain,Sallow Weir,barley,1"]
    data = mark + end.join(line.replace(",", separator) for line in lines).encode()
    assert cells(data) == [["plain", "Sallow Weir", "barley", "1"]]


def test_a_separator_inside_quotes_is_text() -> None:
    data = b'make;site;cereal;note\n"a;b";"c,d";"say ""no""";"two\nlines"\n'
    assert cells(data) == [["a;b", "c,d", 'say "no"', "two\nlines"]]


def test_commas_in_a_heading_do_not_hide_the_semicolons() -> None:
    assert find_separator('make;site;"a, b, c, d, e";cereal', KNOWN, "f") == ";"


def test_headings_between_two_separators_are_refused() -> None:
    problem = refusal(b"make,site;cereal\na,b;c\n")
    assert "commas and semicolons" in problem.message


def test_a_spreadsheets_own_separator_line_counts_as_a_row() -> None:
    table, _ = read(b"sep=;\nmake;site\nplain;here\n")
    assert table is not None
    assert (table.heading_row, table.rows[0].number) == (2, 3)


def test_blank_lines_are_passed_over_but_counted() -> None:
    table, _ = read(b"make,site\n\na,b\n,\n\nc,d\n")
    assert table is not None
    assert [row.number for row in table.rows] == [3, 6]


def test_a_quoted_line_break_is_one_row() -> None:
    table, _ = read(b'make,note\na,"x\ny"\nb,z\n')
    assert table is not None
    assert [row.number for row in table.rows] == [2, 3]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"\n \n", "empty"),
        (b"\xef\xbb\xbf", "empty"),
        ("make,site\na,b\n".encode("utf-16"), "UTF-16"),
        ("make,site\na,b\n".encode("utf-16-le"), "UTF-16"),
        (b'make,site\na,"b\nc,d\n', "never closed"),
        (b"make,site\na," + b"b" * 140_000 + b"\n", "longer than 131,072 characters"),
        (b'make,site\na,"b"c\n', "written twice"),
        (b"\xd0\xcf\x11\xe0old workbook", "save it as .xlsx"),
        (b"PK\x03\x04broken", "cannot be read"),
    ],
)
def test_what_cannot_be_taken_apart_is_refused_in_words(data: bytes, words: str) -> None:
    assert words in refusal(data).message


def test_western_letters_are_read_and_told() -> None:
    table, problems = read("make,site\nplain,b\nCh\u00eane,c\n".encode("latin-1"))
    assert table is not None
    assert (table.letters, table.rows[1].cells[0], problems) == (Letters.WESTERN, "Ch\u00eane", [])


def test_letters_of_no_kind_are_refused_with_their_row() -> None:
    problem = refusal(b"make,site\nplain,b\nCh\x81\xff,c\n")
    assert problem.row == 3
    assert "byte 0x81 is not UTF-8" in problem.message


def test_the_row_of_an_unclosed_quote_is_said() -> None:
    assert refusal(b'make,site\na,b\nc,"d\ne,f\n').row == 3


def test_headings_alone_are_a_table_without_rows() -> None:
    table, problems = read_csv(b"make,site\n", "f", FIND)
    assert (table.headings, table.rows, problems) == (("make", "site"), [], [])


def test_rows_of_a_wrong_length_are_all_said() -> None:
    _, problems = read(b"make,site\na,b,c\nd\ne,f,\ng,h\n")
    assert [(problem.row, problem.value) for problem in problems] == [(2, "c"), (3, "d")]


def test_only_semicolons_and_tabs_leave_the_decimal_mark_open() -> None:
    assert read_csv(b"make,site\na,b\n", "f", FIND)[0].marks is Marks.POINT
    assert read_csv(b"make;site\na;b\n", "f", FIND)[0].marks is Marks.EITHER


CELL = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=12)


@given(
    rows=st.lists(st.tuples(CELL, CELL, CELL), min_size=1, max_size=6),
    separator=st.sampled_from([",", ";", "\t"]),
    end=st.sampled_from(["\n", "\r\n"]),
    quoting=st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
    mark=st.sampled_from([b"", b"\xef\xbb\xbf"]),
)
def test_any_text_comes_through_any_shape(
    rows: list[tuple[str, str, str]], separator: str, end: str, quoting: int, mark: bytes
) -> None:
    written = io.StringIO()
    writer = csv.writer(written, delimiter=separator, lineterminator=end, quoting=quoting)  # type: ignore[arg-type]
    writer.writerows([("make", "site", "note"), *rows])
    table, _ = read(mark + written.getvalue().encode())
    assert table is not None
    expected = [[clean(cell) for cell in row] for row in rows]
    assert [list(row.cells) for row in table.rows] == [row for row in expected if any(row)]


@given(st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs")), max_size=10))
def test_a_guarded_text_reads_back_as_itself_and_is_no_formula(text: str) -> None:
    plain = clean(guard(text.strip()))
    held = guard(plain)
    assert clean(held) == plain
    assert not held.startswith(("=", "+", "-", "@"))


@pytest.mark.parametrize("text", ["=1+1", "+A", "-A", "@A", "'=x", "''-x", "'t Hof", "[/x]"])
def test_texts_that_look_like_formulas_are_kept_as_they_are(text: str) -> None:
    assert clean(guard(text)) == text
