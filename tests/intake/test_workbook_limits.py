"""Workbooks that would take the machine's memory, or are no workbooks: refused before, in words."""

from __future__ import annotations

import io
import struct
import zipfile
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest

from panel.errors import IntakeError
from panel.intake import container, reading, table
from panel.intake.book import is_day_format, unescaped
from panel.intake.csv_text import Unreadable, read_csv
from panel.intake.reading import read_bytes
from panel.intake.workbook import read_workbook
from tests.intake.test_reading import FIND
from tests.intake.test_workbook import workbook

PLAIN = [["make", "site"], ["reed", "Sallow Weir"]]
SHEET = "xl/worksheets/sheet1.xml"
HEAD = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
RELATIONS = "xl/_rels/workbook.xml.rels"
TAIL = b"</sheetData></worksheet>"


def parts_of(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def packed(parts: dict[str, bytes], way: int = zipfile.ZIP_DEFLATED) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", way) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return held.getvalue()


def with_sheet(rows: bytes, **others: bytes) -> bytes:
    return packed({**parts_of(workbook(PLAIN)), SHEET: HEAD + rows + TAIL, **others})


def text(place: str, words: str) -> bytes:
    return f'<c r="{place}" t="inlineStr"><is><t>{words}</t></is></c>'.encode()


def with_texts(rows: bytes, *texts: str) -> bytes:
    """Return a workbook whose cells point to texts that it shares."""
    parts = parts_of(workbook(PLAIN))
    relation = b'<Relationship Id="t" Target="sharedStrings.xml" Type="x/sharedStrings"/>'
    relations = parts[RELATIONS].replace(b"</Relationships>", relation + b"</Relationships>")
    shared = f"<sst>{''.join(f'<si>{words}</si>' for words in texts)}</sst>".encode()
    return with_sheet(rows, **{RELATIONS: relations, "xl/sharedStrings.xml": shared})


def refusal(data: bytes) -> str:
    with pytest.raises(Unreadable) as caught:
        read_workbook(data, "f.xlsx", "makes", None, FIND)
    return caught.value.problem.message


def cells(data: bytes) -> list[list[str]]:
    found, problems = read_workbook(data, "f.xlsx", "makes", None, FIND)
    assert problems == []
    return [list(found.headings), *(list(row.cells) for row in found.rows)]


def test_a_far_cell_in_a_row_is_refused() -> None:
    far = b'<row r="1">' + text("A1", "make") + b'</row><row r="2">' + text("XFD2", "x") + b"</row>"
    data = with_sheet(far)
    assert len(data) < 6_000
    assert "row 2 has something in its column 16,384; at most 1,000" in refusal(data)


def test_a_far_row_costs_nothing_and_is_told_by_its_number() -> None:
    far = b'<row r="1">' + text("A1", "make") + b'</row><row r="1048576">' + text("A1048576", "x")
    found, _ = read_workbook(with_sheet(far + b"</row>"), "f.xlsx", "makes", None, FIND)
    assert [row.number for row in found.rows] == [1_048_576]


def test_cells_that_are_only_formatted_do_not_count() -> None:
    rows = b'<row r="1">' + text("A1", "make") + b'<c r="XFD1" s="1"/></row>'
    rows += b'<row r="2">' + text("A2", "reed") + b"</row>"
    assert cells(with_sheet(rows)) == [["make"], ["reed"]]


def test_what_unpacks_to_more_than_a_table_needs_is_refused_unread() -> None:
    large = b" " * (container.MOST_UNPACKED_BYTES + 1)
    data = with_sheet(b"", **{"xl/media/image1.png": large})
    assert len(data) < 2 * 2**20
    assert "unpacks to more than 256 MiB" in refusal(data)


def test_a_part_that_understates_its_size_is_cut_and_found_damaged() -> None:
    data = bytearray(packed(parts_of(workbook(PLAIN))))
    at = data.rindex(b"PK\x01\x02", 0, data.rindex(SHEET.encode()))
    data[at + 24 : at + 28] = struct.pack("<I", 40)
    assert "cannot be read" in refusal(bytes(data))


def test_more_cells_than_a_table_may_hold(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("panel.intake.sheet.MOST_CELLS", 3)
    assert "over 3 cells" in refusal(workbook(PLAIN))
    monkeypatch.setattr("panel.intake.csv_text.MOST_CELLS", 3)
    with pytest.raises(Unreadable, match="over 3 cells"):
        read_csv(b"make,site\na,b\nc,d\n", "f.csv", FIND)


def test_more_headings_than_a_table_may_have() -> None:
    data = b",".join([b"a"] * (table.MOST_COLUMNS + 1)) + b"\n"
    with pytest.raises(Unreadable, match="at most 1,000 columns"):
        read_csv(data, "f.csv", FIND)


def test_a_file_larger_than_any_table_is_refused_without_reading_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "large.csv"
    path.write_bytes(b"x" * 11)
    monkeypatch.setattr(reading, "MOST_BYTES", 10)
    with pytest.raises(IntakeError, match="more than any table here needs"):
        read_bytes(path)
    monkeypatch.setattr(reading, "MOST_BYTES", 11)
    assert read_bytes(path) == b"x" * 11


def test_an_archive_of_very_many_parts() -> None:
    assert "over 5,000 parts" in refusal(container.ENTRY * 5_001)


def test_an_archive_that_is_no_workbook() -> None:
    assert "but no Excel workbook" in refusal(packed({"mimetype": b"application/zip"}))


def test_a_document_type_is_refused_before_anything_is_expanded() -> None:
    sheet = b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaa">]>' + HEAD + TAIL
    assert "declares a document type" in refusal(
        packed({**parts_of(workbook(PLAIN)), SHEET: sheet})
    )


def test_an_unusual_packing_and_a_locked_part() -> None:
    parts = parts_of(workbook(PLAIN))
    assert "unusual way" in refusal(packed(parts, zipfile.ZIP_BZIP2))
    data = bytearray(packed(parts))
    at = -1
    while (at := data.find(b"PK\x01\x02", at + 1)) >= 0:
        data[at + 8] |= 1
    assert "locked with a password" in refusal(bytes(data))


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        (b'<row r="2"/><row r="1"/>', "row 1 of the sheet is out of its order"),
        (b'<row r="x"/>', "has the number 'x'"),
        (b'<row r="1048577"/>', "out of its order"),
        (b'<row r="1">' + text("B1", "a") + text("A1", "b") + b"</row>", "out of its order"),
        (b'<row r="1">' + text("A2", "a") + b"</row>", "stands in row 1"),
        (b'<row r="1">' + text("1", "a") + b"</row>", "stands in row 1"),
        (b'<row r="1"><c r="A1"', "cannot be read"),
    ],
)
def test_cells_out_of_order_are_refused(rows: bytes, words: str) -> None:
    assert words in refusal(with_sheet(rows))


def test_shared_texts_in_pieces_without_their_reading_aids() -> None:
    pieces = "<r><t>ma</t></r><r><t xml:space='preserve'>ke</t></r><rPh><t>no</t></rPh>"
    rows = b'<row><c t="s"><v>0</v></c></row><row><c t="s"><v>1</v></c></row>'
    assert cells(with_texts(rows, pieces, "<t>a_x005F_x0041_</t>")) == [["make"], ["a_x0041_"]]


def test_a_text_that_is_not_there_and_a_number_that_is_none() -> None:
    rows = b'<row><c t="s"><v>0</v></c><c t="s"><v>1</v></c></row>'
    rows += b'<row><c t="s"><v>999</v></c><c><v>1_0</v></c></row>'
    data = with_texts(rows, "<t>make</t>", "<t>site</t>")
    found, _ = read_workbook(data, "f.xlsx", "makes", None, FIND)
    assert list(found.headings) == ["make", "site"]
    assert [getattr(cell, "words", "")[:24] for cell in found.rows[0].cells] == [
        "the workbook points to a",
        "the workbook calls this ",
    ]


def test_prefixed_tags_are_the_same_tags() -> None:
    sheet = (
        b'<x:worksheet xmlns:x="y"><x:sheetData><x:row><x:c t="str"><x:v>make</x:v></x:c></x:row>'
        b'<x:row><x:c t="b"><x:v>1</x:v></x:c></x:row></x:sheetData></x:worksheet>'
    )
    assert cells(packed({**parts_of(workbook(PLAIN)), SHEET: sheet})) == [["make"], ["yes"]]


def test_days_of_both_calendars_and_times() -> None:
    rows: list[list[Any]] = [
        ["day"],
        [date(2015, 3, 4)],
        [datetime(2015, 3, 4, 6, 30)],
        [datetime(2015, 3, 4)],
    ]
    data = workbook(rows)
    assert cells(data) == [["day"], ["2015-03-04"], ["2015-03-04 06:30:00"], ["2015-03-04"]]
    parts = parts_of(data)
    book = parts["xl/workbook.xml"].replace(b"<workbookPr ", b'<workbookPr date1904="1" ')
    # From memory: the calendar of 1904 begins 1,462 days after that of 1900.
    assert cells(packed({**parts, "xl/workbook.xml": book}))[1] == ["2019-03-05"]


@pytest.mark.parametrize(
    ("code", "is_day"),
    [
        ("yyyy-mm-dd", True),
        ("[$-409]d\\-mmm\\-yy;@", True),
        ("[h]:mm:ss", True),
        ("General", False),
        ("0.00E+00", False),
        ('0.0" days"', False),
        ("[Red]#,##0.00", False),
        ("#,##0\\ \\d", False),
        ("0;[Red]yyyy", False),
    ],
)
def test_formats_of_days(code: str, is_day: bool) -> None:
    assert is_day_format(code) is is_day


def test_escaped_signs_never_leave_half_a_letter() -> None:
    assert unescaped("a_x000D_b") == "a\rb"
    assert unescaped("_xD83E__xDD43_") == "\U0001f943"
    assert unescaped("_xD83E_") == "\ufffd"
