"""Rows that are a day, a litre or a cell on either side of what the records allow."""

from __future__ import annotations

import pytest

from panel.intake.asking import VALUES_SHOWN, _ours, _values
from panel.intake.columns import Columns
from panel.intake.day_order import meant_day
from panel.intake.kinds import Kind
from panel.intake.table import Row
from panel.intake.typed_rows import as_meant, meant_number
from panel.store.engine import Store
from panel.store.targets import StoredTarget
from tests.intake.files import House, counts, message, said, table

EVENT = "cask,kind,happened_on,litres,parent,warehouse"
GAUGE = "cask,gauged_on,bulk_l,abv,method"
CASK = "cask,wood,size_l,filled_on,fill_number,fill_abv,fill_bulk_l,filling,emptied_on"
FIRST = ("C3", "European oak", 500, "2015-06-01", 2, 62, 480, "C3/1")
NEXT = ("C3", "European oak", 500, "{}", 3, 62, 480, "C3/2", "")
Places = list[tuple[int, str]]


def places(house: House, kind: str, content: str) -> Places:
    report = house.load(kind, content)
    return sorted((row, column) for row, column, _ in said(report))


@pytest.mark.parametrize(
    ("rows", "wrong"),
    [
        ([("C3", "emptied", "2020-01-01")], []),
        ([("C3", "emptied", "2015-06-01")], []),
        ([("C3", "emptied", "2015-05-31")], [(2, "cask")]),
        ([("C3", "emptied", "2020-01-01"), ("C3", "emptied", "2021-01-01")], [(3, "cask")]),
        # Drawn in January of 2024: it was not empty before.
        ([("C1", "emptied", "2024-01-09")], [(2, "happened_on")]),
        ([("C1", "emptied", "2024-01-10")], []),
    ],
)
def test_a_filling_is_emptied_once_and_after_all_that_happened_to_it(
    house: House, rows: list[tuple[str, ...]], wrong: Places
) -> None:
    assert places(house, "events", table("cask,kind,happened_on", *rows)) == wrong


def test_days_that_stand_are_named_where_one_is_emptied_twice(house: House) -> None:
    house.take("events", table("cask,kind,happened_on", ("C3", "emptied", "2020-01-01")))
    again = house.load(
        "events", table("filling,kind,happened_on", ("C3/1", "emptied", "2019-01-01"))
    )
    assert "these days stand: 2019-01-01, 2020-01-01" in message(again, 2)


@pytest.mark.parametrize(
    ("emptied_on", "filled_on", "wrong"),
    [
        ("2020-01-01", "2020-01-01", []),
        ("2020-01-01", "2020-01-02", []),
        ("2020-01-02", "2020-01-01", [2, 3]),
        ("", "2020-01-01", [2]),
        ("", "2015-06-01", [3]),
    ],
)
def test_one_filling_after_the_other_lies_in_a_cask(
    house: House, emptied_on: str, filled_on: str, wrong: list[int]
) -> None:
    after = (*NEXT[:3], filled_on, *NEXT[4:])
    found = places(house, "casks", table(CASK, (*FIRST, emptied_on), after))
    assert sorted({row for row, _ in found}) == wrong


def test_a_filling_needs_the_one_before_to_be_gone(house: House) -> None:
    after = (*NEXT[:3], "2020-01-01", *NEXT[4:])
    report = house.load("casks", table(CASK, after))
    assert said(report) == [(2, "filled_on", "2020-01-01")]
    assert "C3/1, filled on 2015-06-01, lies in this cask by the records" in message(report, 2)
    house.take("events", table("cask,kind,happened_on", ("C3", "emptied", "2020-01-01")))
    assert counts(house.take("casks", table(CASK, after))) == (1, 0, 0)


@pytest.mark.parametrize(
    ("cask", "day", "fits"),
    [
        ("C1", "2010-05-01", True),
        ("C1", "2010-04-30", False),
        ("C3", "2020-01-01", True),
        ("C3", "2020-01-02", False),
    ],
)
def test_a_gauge_is_of_what_was_in_the_cask_that_day(
    house: House, cask: str, day: str, fits: bool
) -> None:
    house.take("events", table("cask,kind,happened_on", ("C3", "emptied", "2020-01-01")))
    found = places(house, "regauges", table(GAUGE, (cask, day, 150, 60, "dipped")))
    assert (found == []) is fits


@pytest.mark.parametrize(
    ("until", "reason", "wrong"),
    [("2027-01-01", "cork", []), ("2027-01-01", "", [(2, "hold_reason")]), ("", "cork", [])],
)
def test_a_hold_until_a_day_has_a_reason(
    house: House, until: str, reason: str, wrong: Places
) -> None:
    headings = f"{CASK},hold_until,hold_reason"
    assert places(house, "casks", table(headings, (*FIRST, "", until, reason))) == wrong


@pytest.mark.parametrize(
    ("joined", "left", "wrong"),
    [
        ("2020-01-01", "2020-01-01", []),
        ("2020-01-02", "2020-01-01", [(2, "left_on")]),
        ("", "2020-01-01", []),
    ],
)
def test_nobody_leaves_before_joining(house: House, joined: str, left: str, wrong: Places) -> None:
    content = table("assessor,joined_on,left_on", ("Teal", joined, left))
    assert places(house, "assessors", content) == wrong


def test_a_target_s_lines_are_changed_where_they_are_otherwise(house: House, store: Store) -> None:
    headings = "target,descriptor,aim,tolerance,weight"
    one, other = ("Fen", "hearth smoke", 30, 5, 1), ("Fen", "plum stone", 20, 5, 1)
    assert counts(house.take("targets", table(headings, one, other))) == (2, 0, 0)
    wider = ("Fen", "hearth smoke", 30, 6, 1)
    assert counts(house.take("targets", table(headings, wider, other))) == (0, 1, 1)
    with store.read() as db:
        lines = db.query(StoredTarget).one().lines
        assert {line.descriptor.name: line.tolerance for line in lines} == {
            "hearth smoke": 6.0,
            "plum stone": 5.0,
        }


PLAN = "plan,release,year,target,bottles,abv,age,rule_set,limits"


@pytest.mark.parametrize(
    ("row", "columns"),
    [
        (("P", "R", 2028, "Fen", 100, 46, 8, "", "casks 2-5"), []),
        (("P", "R", 2028, "Fen", 100, "", "", "", ""), []),
        (("P", "R", "", "Fen", 100, 46, "", "", ""), ["year"]),
        (("P", "R", 2028.5, "Fen", 100, 46, "", "", ""), ["year"]),
        (("P", "R", 2028, "", 100, 46, "", "", ""), ["target"]),
        (("P", "R", 2028, "Fen", "", 46, "", "", ""), ["bottles"]),
        (("P", "R", 2028, "Fen", 0, 46, "", "", ""), ["bottles"]),
        (("P", "R", 2028, "Fen", 100, 46, "", "", "casks many"), ["limits"]),
        (("P", "R", 2028, "Moor", 100, 46, "", "", ""), ["target"]),
        (("P", "R", 2028, "Fen", 100, 46, "", "No law", ""), ["rule_set"]),
        (("P", "R", 2028, "Fen", 100, 46, "", "", "share wood=oak:0.5-0.3"), ["limits"]),
        (("P", "R", 2028, "Fen", 100, 46, "", "", "casks 82-4"), ["limits"]),
        (("P", "", "", "", "", "", "", "", "draw 900"), []),
        (("P", "", "", "", "", "", "", "", ""), ["limits"]),
        (("P", "", "", "", "", "", "", "", "draw many"), ["limits"]),
        (("P", "", 2028, "", "", "", "", "", "draw 900"), ["year"]),
    ],
)
def test_a_row_of_a_plan_is_a_release_or_holds_for_the_whole(
    house: House, row: tuple[object, ...], columns: list[str]
) -> None:
    lines = ("Fen", "hearth smoke", 30, 5, 1)
    house.take("targets", table("target,descriptor,aim,tolerance,weight", lines))
    found = places(house, "plans", table(PLAN, row))
    assert [column for _, column in found] == columns


def test_casks_of_fillings_that_a_plan_does_not_expect_are_faults_all_at_once(
    house: House,
) -> None:
    lines = ("Fen", "hearth smoke", 30, 5, 1)
    house.take("targets", table("target,descriptor,aim,tolerance,weight", lines))
    fill = "fill 2028-04-01 2 x 190 L at 63.5"
    whole = ("P", "", "", "", "", "", "", "", f"{fill}; hold expected 1.2; hold expected 1.3")
    some = ("P", "R", 2030, "Fen", 100, 46, "", "", "with expected 1.1; without expected 2.1")
    other = ("Q", "S", 2030, "Fen", 100, 46, "", "", "with expected 1.1")
    found = house.load("plans", table(PLAN, some, whole, other))
    told = [(each.row, each.column, each.value) for each in found.problems]
    assert told == [
        (2, "limits", "expected 2.1"),
        (3, "limits", "expected 1.3"),
        (4, "limits", "expected 1.1"),
    ]
    assert "no cask among the fillings that plan P expects: 'expected 2.1'" in message(found, 2)
    good = ((*whole[:8], fill), (*some[:8], "with expected 1.2"))
    assert counts(house.take("plans", table(PLAN, *good))) == (2, 0, 0)
    fewer = (*whole[:8], fill.replace("2 x", "1 x"))
    assert "release R of it names 'expected 1.2'" in message(
        house.load("plans", table(PLAN, fewer)), 2
    )
    both = (fewer, (*some[:8], "with expected 1.1"))
    assert counts(house.take("plans", table(PLAN, *both))) == (0, 2, 0)
    unread = ((*whole[:8], f"fil 1; {fill}"), (*some[:8], "with expected 9.9"))
    assert [each.row for each in house.load("plans", table(PLAN, *unread)).problems] == [2]


def test_a_plan_that_is_loaded_again_is_changed_where_it_is_otherwise(house: House) -> None:
    lines = ("Fen", "hearth smoke", 30, 5, 1)
    house.take("targets", table("target,descriptor,aim,tolerance,weight", lines))
    whole = ("P", "", "", "", "", "", "", "", "draw 900")
    release = ("P", "R", 2028, "Fen", 100, 46, 8, "", "casks 2-5")
    assert counts(house.take("plans", table(PLAN, whole, release))) == (2, 0, 0)
    assert counts(house.take("plans", table(PLAN, whole, release))) == (0, 0, 2)
    more, less = (*release[:4], 120, *release[5:]), (*whole[:8], "draw 800")
    assert counts(house.take("plans", table(PLAN, less, release))) == (0, 1, 1)
    assert counts(house.take("plans", table(PLAN, less, more))) == (0, 1, 1)
    twice = house.load("plans", table(PLAN, release, more))
    assert "R of plan P" in message(twice, 3)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("63,5", "63.5"),
        ("63.5", "63.5"),
        ("1,234", "1,234"),  # perhaps thousands: it is asked about, not guessed
        ("1.234,5", "1.234,5"),
        ("12,34", "12.34"),
        ("plenty", "plenty"),
    ],
)
def test_a_number_with_a_comma_as_it_was_meant(typed: str, meant: str) -> None:
    assert meant_number(typed) == meant


def test_typed_rows_are_read_as_they_were_meant() -> None:
    rows = [{"cask": "C1", "gauged_on": "13.12.2015", "bulk_l": "171,25", "note": "1,5"}]
    assert as_meant(Kind.REGAUGES, rows) == [
        {"cask": "C1", "gauged_on": "2015-12-13", "bulk_l": "171.25", "note": "1,5"}
    ]
    assert as_meant(Kind.REGAUGES, []) == []
    assert meant_day("03/04/2015") == "03/04/2015"  # either may be the month
    assert meant_day("25/04/2015") == "2015-04-25"


def test_what_a_heading_stands_for_and_what_lies_under_it() -> None:
    columns = Columns(("cask", "abv"))
    assert _ours("ABV", {}, columns) == "abv"
    assert _ours("Strength", {"strength": "abv"}, columns) == "abv"
    assert _ours("Strength", {"strength": None}, columns) is None
    assert _ours("Strength", {}, columns) is None
    rows = [Row(number, (value,)) for number, value in enumerate(("b", "", "a", "b", "c"), 2)]
    assert _values(0, rows) == ("b", "a", "c")[:VALUES_SHOWN]
    many = [Row(number, (str(number),)) for number in range(20)]
    assert len(_values(0, many)) == VALUES_SHOWN
