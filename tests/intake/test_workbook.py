"""Workbooks: real dates and numbers, error values, formulas never computed, sheets."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

import pytest
from openpyxl import Workbook
from sqlalchemy import select

from panel.intake.loading import LoadReport, load_file
from panel.store.casks import Filling, Regauge
from tests.intake.files import BY, NOW, House, message, said

GAUGE: list[Any] = ["cask", "gauged_on", "bulk_l", "abv", "method"]


def workbook(rows: Sequence[list[Any]], sheets: tuple[str, ...] = ("Sheet",)) -> bytes:
    book = Workbook()
    book.remove(book.worksheets[0])
    for name in sheets:
        page = book.create_sheet(name)
        for row in rows:
            page.append(row)
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


def load(house: House, kind: str, data: bytes, **options: Any) -> LoadReport:
    path = house.file(data, "book.xlsx")
    return load_file(house.store, kind, path, now=NOW, by=BY, **options)


def test_real_dates_and_numbers_are_taken_as_they_are(house: House) -> None:
    rows: list[list[Any]] = [
        GAUGE,
        ["C1", date(2015, 3, 4), 171.234, 60, "dipped"],
        ["C2", datetime(2016, 3, 4), 170.1 + 0.2, 59.5, "weighed"],
        ["C3", "2017-03-04", "471.5", "60.5", "weighed"],
    ]
    report = load(house, "regauges", workbook(rows))
    assert report.problems == ()
    with house.store.read() as db:
        found = [(gauge.gauged_on, gauge.bulk_l) for gauge in db.scalars(select(Regauge))]
    assert found == [
        (date(2015, 3, 4), 171.234),
        (date(2016, 3, 4), pytest.approx(170.3)),
        (date(2017, 3, 4), 471.5),
    ]


def test_whole_numbers_are_names_without_a_point(house: House) -> None:
    rows: list[list[Any]] = [
        ["cask", "wood", "size_l", "filled_on", "fill_number", "fill_abv", "fill_bulk_l"],
        [1407, "oak", 200, date(2014, 1, 1), 1, 63.5, 190],
    ]
    assert load(house, "casks", workbook(rows)).problems == ()
    with house.store.read() as db:
        assert db.scalars(select(Filling).where(Filling.label == "1407/1")).one().fill_number == 1


def test_errors_and_uncomputed_formulas_are_told_from_blanks(house: House) -> None:
    rows: list[list[Any]] = [
        [*GAUGE, "temperature_c", "note"],
        ["C1", date(2015, 3, 4), "=100+71", 60, "dipped", None, None],
        ["#N/A", date(2015, 3, 4), 171, "#DIV/0!", "dipped", None, "#VALUE!"],
        ["C2", date(2015, 3, 4), 171, 60, "dipped", "#N/A", None],
    ]
    report = load(house, "regauges", workbook(rows))
    assert said(report) == [
        (2, "bulk_l", "formula"),
        (3, "cask", "#N/A"),
        (3, "abv", "#DIV/0!"),
        (3, "note", "#VALUE!"),
        (4, "temperature_c", "#N/A"),
    ]
    assert "never computed" in message(report, 2)
    assert "has an error here" in message(report, 4)


def test_a_computed_formula_is_its_value(house: House) -> None:
    data = workbook([GAUGE, ["C1", date(2015, 3, 4), "=100+71", 60, "dipped"]])
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        held = {name: parts.read(name) for name in parts.namelist()}
    sheet = held["xl/worksheets/sheet1.xml"]
    assert b"<f>100+71</f><v" in sheet
    held["xl/worksheets/sheet1.xml"] = sheet.replace(
        b"<f>100+71</f><v />", b"<f>100+71</f><v>171</v>"
    )
    computed = io.BytesIO()
    with zipfile.ZipFile(computed, "w") as parts:
        for name, content in held.items():
            parts.writestr(name, content)
    assert load(house, "regauges", computed.getvalue()).problems == ()


def test_a_number_that_shows_as_a_date_or_a_per_cent_is_refused(house: House) -> None:
    report = load(house, "regauges", workbook([GAUGE, ["C1", 42067, 171, 0.6, "dipped"]]))
    assert "perhaps 2015-03-04" in message(report, 2, "gauged_on")
    assert "60, not 0.6" in message(report, 2, "abv")


def test_blank_rows_are_counted_and_rows_start_where_the_sheet_does(house: House) -> None:
    rows: list[list[Any]] = [[], GAUGE, [], ["C1", "soon", 171, 60, "dipped"]]
    report = load(house, "regauges", workbook(rows))
    assert said(report) == [(4, "gauged_on", "soon")]


def test_sheets(house: House) -> None:
    rows: list[list[Any]] = [GAUGE, ["C1", date(2015, 3, 4), 171, 60, "dipped"]]
    data = workbook(rows, ("notes", "Regauges"))
    assert load(house, "regauges", data, check=True).problems == ()
    assert load(house, "regauges", data, check=True, sheet="notes").problems == ()
    assert (
        "no sheet 'x'; there are: notes, Regauges"
        in load(house, "regauges", data, sheet="x").problems[0].message
    )
    assert (
        "name one with --sheet"
        in load(house, "regauges", workbook(rows, ("a", "b"))).problems[0].message
    )


def test_a_workbook_called_csv_is_still_a_workbook(house: House) -> None:
    data = workbook([GAUGE, ["C1", date(2015, 3, 4), 171, 60, "dipped"]])
    path = house.file(data, "book.csv")
    assert load_file(house.store, "regauges", path, now=NOW, by=BY).problems == ()


def test_text_numbers_with_a_comma_are_settled_by_evidence(house: House) -> None:
    rows: list[list[Any]] = [GAUGE, ["C1", date(2015, 3, 4), "171,25", 60, "dipped"]]
    assert load(house, "regauges", workbook(rows), check=True).problems == ()
    rows = [GAUGE, ["C1", date(2015, 3, 4), "1,712", 60, "dipped"]]
    assert "could be 1712 or 1.712" in message(load(house, "regauges", workbook(rows)), 2)


@pytest.mark.parametrize("part", ["xl/workbook.xml", "xl/worksheets/sheet1.xml"])
def test_a_workbook_with_a_part_missing_is_refused_in_words(house: House, part: str) -> None:
    data = workbook([GAUGE, ["C1", date(2015, 3, 4), 171, 60, "dipped"]])
    broken = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as parts, zipfile.ZipFile(broken, "w") as copy:
        for name in parts.namelist():
            if name != part:
                copy.writestr(name, parts.read(name))
    report = load(house, "regauges", broken.getvalue())
    assert "cannot be read" in report.problems[0].message


def test_sheet_goes_with_workbooks_only(house: House) -> None:
    report = load_file(house.store, "makes", house.file("make\nx\n"), now=NOW, by=BY, sheet="makes")
    assert "no sheets" in report.problems[0].message
