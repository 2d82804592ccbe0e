"""Files as houses keep them: title rows, headings of their own, dates day first, other letters."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import date, datetime

import pytest
from openpyxl import Workbook
from sqlalchemy import select

from panel.intake.day_order import DayOrder
from panel.intake.kinds import Kind
from panel.intake.letters import Letters
from panel.intake.report import LoadReport
from panel.intake.said import Said
from panel.store.casks import Cask, Filling
from panel.store.log import LogEntry
from panel.words.load_words import fault_lines, reading_lines
from tests.intake.files import House, counts, message, said

FILLED = "cask,wood,size_l,filled_on,fill_number,fill_abv,fill_bulk_l"
GERMAN = """\
Fassbuch Sallow Weir;;;;;;;
Stand: 25.11.2025;;;;;;;

Faß;Holz;Größe (l);Befüllt am;Belegung;Stärke;Füllmenge;Bemerkung
F1;Weißeiche;200;03.09.2014;1;63,5;190,5;süß
F2;Kastanie;225;25.09.2014;2;62,25;201,75;
"""
OF_GERMAN = {
    **{"Faß": "cask", "Holz": "wood", "Größe (l)": "size_l", "Befüllt am": "filled_on"},
    **{"Belegung": "fill_number", "Stärke": "fill_abv", "Füllmenge": "fill_bulk_l"},
    "Bemerkung": "note",
}
JAPANESE = """\
樽の台帳（サロウ・ウィア）
樽番号,材,容量,詰めた日,回数,度数,量,備考
樽１,ミズナラ,４８０,2014年9月3日,１,６３．５,４５０．２,甘い
樽２,ホワイトオーク,200,2015/10/21,2,62.5,190,
"""
OF_JAPANESE = {
    **{"樽番号": "cask", "材": "wood", "容量": "size_l", "詰めた日": "filled_on"},
    **{"回数": "fill_number", "度数": "fill_abv", "量": "fill_bulk_l", "備考": "note"},
}


def fillings(house: House) -> list[tuple[str, str, float, date, float, float]]:
    with house.store.read() as db:
        found = db.scalars(select(Filling).join(Filling.cask).order_by(Cask.number))
        return [
            (f.cask.number, f.cask.wood, f.cask.size_l, f.filled_on, f.fill_abv, f.fill_bulk_l)
            for f in found
        ]


def told(report: LoadReport) -> str:
    return "\n".join(reading_lines(report))


def book(*rows: Sequence[object]) -> bytes:
    made = Workbook()
    assert made.active is not None
    for row in rows:
        made.active.append(list(row))
    held = io.BytesIO()
    made.save(held)
    return held.getvalue()


TITLES: list[list[object]] = [["Casks of Sallow Weir"], [None, "as of", "2025-11-25"], []]
ROW: list[object] = ["C1", "oak", 200, "2014-09-03", 1, 63.5, 190]


def test_title_rows_are_passed_over_and_faults_name_the_row_of_the_file(empty: House) -> None:
    text = f"Casks of Sallow Weir\n,,as of 2025-11-25\n\n{FILLED}\nC1,oak,200,2014-09-03,1,x,190\n"
    report = empty.load("casks", text)
    assert said(report) == [(5, "fill_abv", "x")]
    report = empty.take("casks", text.replace(",x,", ",63.5,"))
    assert (report.heading_row, report.rows_above, counts(report)) == (4, 2, (1, 0, 0))
    assert told(report) == "The headings stand in row 4; 2 rows above were passed over."


def test_title_rows_of_a_workbook_are_passed_over(empty: House) -> None:
    path = empty.file(book(*TITLES, [*FILLED.split(",")], ROW), "casks.xlsx")
    report = empty.take("casks", path.read_bytes())
    assert (report.heading_row, report.rows_above, counts(report)) == (4, 2, (1, 0, 0))


def test_headings_are_found_only_where_all_that_must_be_there_is(empty: House) -> None:
    text = f"Casks\n{FILLED.replace('wood', 'staves')}\nC1,oak,200,2014-09-03,1,63.5,190\n"
    report = empty.load("casks", text)
    assert said(report) == [(2, "staves", "staves"), (2, "wood", "")]
    assert "what the cask is made of" in message(report, 2, "wood")


def test_a_missing_column_is_told_with_its_words(house: House) -> None:
    report = house.load("regauges", "cask,gauged_on,bulk_l,abv\nC1,2020-01-01,150,60\n")
    assert "(weighed, dipped)" in message(report, 1, "method")


@pytest.mark.parametrize("letters", ["utf-8", "utf-8-sig", "cp1252"])
def test_a_german_file_loads_and_the_next_of_its_shape_unasked(empty: House, letters: str) -> None:
    first = empty.load("casks", GERMAN.encode(letters))
    assert not first.written
    assert {each.row for each in first.problems if not each.value} == {4}
    report = empty.take("casks", GERMAN.encode(letters), said=Said(OF_GERMAN))
    assert fillings(empty) == [
        ("F1", "Weißeiche", 200, date(2014, 9, 3), 63.5, 190.5),
        ("F2", "Kastanie", 225, date(2014, 9, 25), 62.25, 201.75),
    ]
    assert report.letters is (Letters.WESTERN if letters == "cp1252" else None)
    assert "Faß is cask" in told(report)
    assert "Dates in Befüllt am were read day first: 25.09.2014 settles it." in told(report)
    more = GERMAN.replace("F1", "F3").replace("F2", "F4")
    after = empty.take("casks", more.encode(letters))
    assert (counts(after), after.heading_row) == ((2, 0, 0), 4)
    assert "Headings named for an earlier file: Faß is cask" in told(after)


@pytest.mark.parametrize("letters", ["utf-8", "utf-8-sig", "cp932"])
def test_a_japanese_file_loads_with_wide_signs(empty: House, letters: str) -> None:
    report = empty.take("casks", JAPANESE.encode(letters), said=Said(OF_JAPANESE))
    assert fillings(empty) == [
        ("樽１", "ミズナラ", 480, date(2014, 9, 3), 63.5, 450.2),
        ("樽２", "ホワイトオーク", 200, date(2015, 10, 21), 62.5, 190),
    ]
    assert report.letters is (Letters.JAPANESE if letters == "cp932" else None)
    assert counts(empty.take("casks", JAPANESE.encode(letters))) == (0, 0, 2)


def test_letters_that_could_be_either_are_asked_for(empty: House) -> None:
    data = "make,site,cereal,phenol_ppm\nFaß,Fluß,Gerste,1\n".encode("cp1252")
    report = empty.load("makes", data)
    assert "--letters western or --letters japanese" in message(report, 2)
    report = empty.take("makes", data, said=Said(letters=Letters.WESTERN))
    assert "read as Western (Windows-1252)" in told(report)


def test_kept_headings_settle_the_letters(empty: House) -> None:
    text = "Maß,site,cereal,phenol_ppm\nplain,Weir,barley,1\n"
    empty.take("makes", text, said=Said({"Maß": "make"}))
    report = empty.take("makes", text.replace("plain", "smoky").encode("cp1252"))
    assert (report.letters, counts(report)) == (Letters.WESTERN, (1, 0, 0))


def test_a_column_can_be_left_out(empty: House) -> None:
    text = "make,site,cereal,phenol_ppm,Kürzel\nplain,Weir,barley,1,x\n"
    assert "no such column" in message(empty.load("makes", text), 1, "Kürzel")
    report = empty.take("makes", text, said=Said({"Kürzel": None}))
    assert told(report) == "Headings named now: Kürzel is left out."
    assert empty.take("makes", text).unchanged == 1


def test_headings_and_columns_that_are_not_there_are_told_at_once(empty: House) -> None:
    wrong = Said({"Brand": "make", "site": "sites"})
    report = empty.load("makes", "make,site,cereal,phenol_ppm\nplain,Weir,barley,x\n", said=wrong)
    told = "\n".join(each.sentence() for each in report.problems)
    assert "no heading of the file is called this" in told
    assert "no column sites; nearest: site" in told
    assert "phenol_ppm ('x')" in told


def test_two_headings_for_one_column_are_a_fault(empty: House) -> None:
    text = "make,Brand,site,cereal,phenol_ppm\nplain,plain,Weir,barley,1\n"
    assert "stands 2 times" in message(empty.load("makes", text, said=Said({"Brand": "make"})), 1)


def test_a_check_and_a_faulty_load_keep_no_headings(empty: House) -> None:
    text = "Brand,site,cereal,phenol_ppm\nplain,Weir,barley,1\n"
    named = Said({"Brand": "make"})
    empty.take("makes", text, said=named, check=True)
    empty.load("makes", text.replace("1\n", "x\n"), said=named)
    assert empty.load("makes", text).problems
    with empty.store.read() as db:
        assert not list(db.scalars(select(LogEntry)))
    empty.take("makes", text, said=named)
    assert empty.take("makes", text).unchanged == 1


GAUGES = "cask,gauged_on,bulk_l,abv,method\n"


def gauges(*days: str) -> str:
    return GAUGES + "".join(f"C1,{day},{180 - i},60,dipped\n" for i, day in enumerate(days))


def test_dates_that_no_date_settles_are_asked_for_once(house: House) -> None:
    text = gauges("03.09.2014", "04.10.2015", "05.11.2016")
    report = house.load("regauges", text)
    assert said(report) == [(2, "gauged_on", "03.09.2014")]
    assert "2014-09-03 or 2014-03-09" in message(report, 2)
    assert "--dates day-first or --dates month-first" in message(report, 2)
    assert report.open_dates == {"gauged_on": "03.09.2014"}
    report = house.take("regauges", text, said=Said(dates={"": DayOrder.DAY_FIRST}))
    assert told(report) == "Dates in gauged_on were read day first: as was said."
    assert b"2014-09-03" in house.saved("regauges")
    again = house.take("regauges", text)
    assert "as was said of an earlier file" in told(again)
    assert again.unchanged == 3


def test_open_dates_hide_no_other_fault(house: House) -> None:
    text = gauges("03.09.2014").replace("60,dipped", "x,dropped")
    assert [column for _, column, _ in said(house.load("regauges", text))] == [
        "gauged_on",
        "abv",
        "method",
    ]


def test_dates_that_contradict_each_other_are_faults(house: House) -> None:
    report = house.load("regauges", gauges("25.09.2014", "09.26.2015", "27.10.2016", "03.04.2017"))
    assert said(report) == [(3, "gauged_on", "09.26.2015"), (5, "gauged_on", "03.04.2017")]
    assert "one order in a column" in message(report, 3)


def test_what_is_said_of_dates_cannot_be_against_them(house: House) -> None:
    report = house.load(
        "regauges", gauges("25.09.2014"), said=Said(dates={"": DayOrder.MONTH_FIRST})
    )
    assert "cannot be month-first" in message(report, 2)


def test_true_dates_of_a_workbook_stay_dates(house: House) -> None:
    data = book(
        GAUGES.strip().split(","),
        ["C1", datetime(2014, 9, 3), 180, 60, "dipped"],
        ["C1", "09/25/2015", 170, 60, "dipped"],
    )
    report = house.take("regauges", data)
    assert [(each.column, each.order) for each in report.dates] == [
        ("gauged_on", DayOrder.MONTH_FIRST)
    ]
    assert b"2014-09-03" in house.saved("regauges")


def test_a_year_of_two_digits_is_not_guessed(house: House) -> None:
    assert "four digits" in message(house.load("regauges", gauges("25.09.14")), 2)


def test_wide_scores_under_own_headings(house: House) -> None:
    text = "Abend,Nase,Probe,Rauch\nN1,Alder,C1 spring,20\n"
    named = Said(
        {"Abend": "session", "Nase": "assessor", "Probe": "sample", "Rauch": "hearth smoke"}
    )
    assert counts(house.take(Kind.SCORES, text, said=named)) == (1, 0, 0)


def test_faults_say_how_the_file_was_read(empty: House) -> None:
    report = empty.load("casks", GERMAN.replace("200;", "x;"), said=Said(OF_GERMAN))
    lines = list(fault_lines(report))
    assert "row 5, column Größe (l), taken as size_l" in lines[1]
    assert "row 4; 2 rows above" in "\n".join(lines)


def test_faults_are_told_under_the_files_own_heading_and_as_it_is_written_there(
    empty: House,
) -> None:
    text = GERMAN.replace("63,5;", "163,5;").replace("25.09.2014", "25.09.2099")
    report = empty.load(
        "casks", text.replace("Kastanie;225", "Kastanie;viel"), said=Said(OF_GERMAN)
    )
    told = [
        (each.row, each.column, each.value, each.heading, each.cell) for each in report.problems
    ]
    assert told == [
        (5, "fill_abv", "163.5", "Stärke", "163,5"),
        (6, "size_l", "viel", "Größe (l)", ""),
        (6, "filled_on", "2099-09-25", "Befüllt am", "25.09.2099"),
    ]
    first = next(iter(report.problems)).sentence()
    assert first == (
        "file1.csv, row 5, column Stärke, taken as fill_abv ('163,5'): must be 100 % vol or less"
    )
    lines = "\n".join(fault_lines(report))
    assert "A comma was read as the decimal mark in Stärke (163,5), Füllmenge (190,5)." in lines
    assert "Dates in Befüllt am were read day first" in lines


def test_two_headings_taken_as_one_column_are_both_named(empty: House) -> None:
    report = empty.load("casks", GERMAN, said=Said({**OF_GERMAN, "Füllmenge": "fill_abv"}))
    twice = next(each for each in report.problems if each.value == "fill_abv")
    assert twice.heading == "Stärke and Füllmenge"


def test_what_is_asked_has_another_way_out_at_the_desk(empty: House) -> None:
    text = GERMAN.replace("25.09.2014", "02.09.2014").replace("Stand: 25", "Stand: 5")
    report = empty.load("casks", text, said=Said(OF_GERMAN))
    assert "say which with --dates day-first" in "\n".join(fault_lines(report))
    at_desk = "\n".join(fault_lines(report, asks="Enter"))
    assert "--" not in at_desk
    assert "checking the file again asks which" in at_desk
