"""Makes, casks, events, regauges and draws against the records and against each other."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select

from panel.desk.cask_columns import words_of
from panel.desk.cask_page import state_lines
from panel.intake.loading import LoadReport, add_record, load_rows
from panel.kinds import DrawKind, GlassKind, SessionStatus
from panel.questions.cask_life import cask_life, cask_lines
from panel.questions.filling_told import filling_told
from panel.records.settings import change_setting
from panel.store.casks import Cask, Filling, FillingEvent, Make, Regauge
from panel.store.draws import Draw
from panel.store.key import KeyRow
from panel.store.log import LogEntry
from panel.store.sessions import PanelSession
from panel.words.cask_words import today_words
from tests.conftest import FIXED_NOW
from tests.intake.files import BY, CASKS, MAKES, NOW, STOCK, House, counts, message, said, table

EVENT = "cask,kind,happened_on,litres,parent,warehouse"
GAUGE = "cask,gauged_on,bulk_l,abv,method"


def test_the_same_files_twice_change_nothing(house: House) -> None:
    with house.store.read() as db:
        before = len(db.scalars(select(LogEntry)).all())
    for kind, content in STOCK:
        report = house.take(kind, content)
        assert counts(report) == (0, 0, report.rows)
        assert not report.written
    with house.store.read() as db:
        assert len(db.scalars(select(LogEntry)).all()) == before


def test_one_load_is_one_entry_in_the_log_with_hash_and_counts(empty: House) -> None:
    report = empty.take("makes", MAKES)
    with empty.store.read() as db:
        entry = db.scalars(select(LogEntry)).one()
    body = entry.body_json or ""
    assert report.sha256 in body
    assert '"new":2' in body
    assert "smoky" not in body


def test_check_writes_nothing(empty: House) -> None:
    report = empty.take("makes", MAKES, check=True)
    assert (counts(report), report.written) == ((2, 0, 0), False)
    with empty.store.read() as db:
        assert db.scalars(select(Make)).all() == []


def test_an_absent_column_leaves_and_an_empty_cell_clears(house: House) -> None:
    headings = "make,site,cereal,phenol_ppm"
    report = house.take("makes", table(headings, ("smoky", "Sallow Weir", "barley", 41)))
    assert counts(report) == (0, 1, 0)
    house.take("makes", table(f"{headings},note", ("smoky", "Sallow Weir", "barley", 41, "")))
    with house.store.read() as db:
        make = db.scalars(select(Make).where(Make.name == "smoky")).one()
    assert (make.phenol_ppm, make.campaign, make.note) == (41, "autumn", None)


def test_a_key_that_stands_twice(empty: House) -> None:
    report = empty.load("makes", MAKES + "plain,x,y,2,,\n")
    assert "row 2 already" in message(report, 4)


def test_one_fault_keeps_everything_out(empty: House) -> None:
    report = empty.load("makes", MAKES + "third,x,y,-2,,\n")
    assert said(report) == [(4, "phenol_ppm", "-2")]
    with empty.store.read() as db:
        assert db.scalars(select(Make)).all() == []


def test_casks_with_semicolons_and_decimal_commas(house: House) -> None:
    lines = ["cask;wood;size_l;filled_on;fill_number;fill_abv;fill_bulk_l;make"]
    house.take("casks", "\n".join([*lines, "C9;oak;225;2016-01-02;3;63,4;221,75;plain"]))
    with house.store.read() as db:
        filling = db.scalars(select(Filling).where(Filling.label == "C9/1")).one()
    assert (filling.fill_abv, filling.fill_bulk_l, filling.fill_number) == (63.4, 221.75, 3)


def test_a_cask_may_be_wood_alone(house: House) -> None:
    with house.store.read() as db:
        cask = db.scalars(select(Cask).where(Cask.number == "[/x]")).one()
        assert cask.fillings == []


CASK = "cask,wood,size_l,filled_on,fill_number,fill_abv,fill_bulk_l,filling,make"


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        (("C9", "oak", 200, "", 1, 63, 190, "", ""), "filled_on", "must have"),
        (("C9", "oak", 200, "2010-01-01", "", 63, 190, "", ""), "fill_number", "must have"),
        (("C9", "oak", 200, "2010-01-01", 0, 63, 190, "", ""), "fill_number", "1"),
        (("C9", "oak", 200, "2010-01-01", 1, 63, 300, "", ""), "fill_bulk_l", "more than fits"),
        (("C9", "oak", 200, "2026-03-15", 1, 63, 190, "", ""), "filled_on", "future"),
        (("C9", "oak", 200, "2010-01-01", 1, 63, 190, "", "plane"), "make", "nearest: plain"),
        (("C9", "oak", 200, "2010-01-01", 1, 63, 190, "C1/1", ""), "filling", "cask C1"),
        (("C1", "American oak", 200, "2020-01-01", 1, 63, 190, "", ""), "filled_on", "C1/2"),
        (("", "oak", 200, "2010-01-01", 1, 63, 190, "", ""), "cask", "empty"),
    ],
)
def test_casks_at_fault(house: House, row: tuple[object, ...], column: str, words: str) -> None:
    report = house.load("casks", table(CASK, row))
    assert words in message(report, 2, column)


def test_an_unknown_name_is_said_in_a_row_with_another_fault(house: House) -> None:
    report = house.load(
        "casks", table(CASK, ("C9", "oak", "x", "2010-01-01", 1, 63, 9, "", "plan"))
    )
    assert {column for _, column, _ in said(report)} == {"size_l", "make"}


def test_the_rows_of_one_cask_agree_about_the_wood(house: House) -> None:
    rows = [
        ("C9", "oak", 200, "2001-01-01", 1, 63, 190, "C9/1", ""),
        ("C9", "pine", 200, "2011-01-01", 2, 63, 190, "C9/2", ""),
        ("C9", "oak", 200, "2011-01-01", 2, 63, 190, "C9/3", ""),
    ]
    report = house.load("casks", table(CASK, *rows))
    assert "row 2 says oak" in message(report, 3, "wood")
    assert "same day" in message(report, 4, "filled_on")


def test_a_filling_moved_behind_its_own_records_is_refused(house: House) -> None:
    house.take("regauges", table(GAUGE, ("C1", "2015-01-01", 150, 60, "dipped")))
    report = house.load("casks", CASKS.replace("2010-05-01", "2016-05-01"))
    assert "begin on 2015-01-01" in message(report, 2, "filled_on")


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        (("C1", "emptied", "2009-01-01", "", "", ""), "cask", "before it was filled"),
        (("C1", "moved", "2015-01-01", "", "", ""), "warehouse", "new place"),
        (("C1", "topped", "2015-01-01", "", "", ""), "litres", "litres"),
        (("C1", "topped", "2015-01-01", 300, "", ""), "litres", "more than fits"),
        (("C3", "re-racked", "2015-06-01", 100, "", ""), "parent", "came from"),
        (("C3", "re-racked", "2015-06-01", 100, "C1", ""), "parent", "nearest: C1/1"),
        (("C3", "re-racked", "2015-06-01", 100, "C3/1", ""), "parent", "itself"),
        (("C3", "re-racked", "2015-06-01", 250, "C1/1", ""), "litres", "never held"),
        (("C1", "freed", "2015-06-01", "", "C2/1", ""), "parent", "only a re-racking"),
        (("C1", "topped", "2015-06-01", 5, "C1/1", ""), "parent", "topped from itself"),
        (("C1", "topped", "2015-06-01", 5, "C9/1", ""), "parent", "no filling of this name"),
        (("C3", "topped", "2015-06-01", 250, "C1/1", ""), "litres", "never held"),
        (("C1", "topped", "2012-04-01", 5, "C2/1", ""), "parent", "not topped from before"),
        (("C4", "freed", "2015-06-01", "", "", ""), "cask", "nearest: C"),
        (("[/x]", "freed", "2015-06-01", "", "", ""), "cask", "ever filled"),
        (("C1", "vanished", "2015-06-01", "", "", ""), "kind", "one of moved"),
        (("C1", "freed", "2031-06-01", "", "", ""), "happened_on", "future"),
    ],
)
def test_events_at_fault(house: House, row: tuple[object, ...], column: str, words: str) -> None:
    report = house.load("events", table(EVENT, row))
    assert words in message(report, 2, column)


def test_a_filling_emptied_before_it_was_filled(house: House) -> None:
    report = house.load("events", "filling,kind,happened_on\nC1/1,emptied,2009-01-01\n")
    assert message(report, 2) == "C1/1 was filled on 2010-05-01: it was not emptied before"


def test_nothing_happens_to_a_filling_after_it_was_emptied(house: House) -> None:
    rows = [
        ("C1", "emptied", "2025-01-01", "", "", ""),
        ("C1", "leak found", "2025-06-01", "", "", ""),
        ("C2", "emptied", "2025-01-01", "", "", ""),
        ("C2", "emptied", "2025-02-01", "", "", ""),
    ]
    report = house.load("events", table(EVENT, *rows))
    assert {row for row, _, _ in said(report)} == {3, 5}


def test_emptied_before_a_recorded_regauge_is_refused(house: House) -> None:
    house.take("regauges", table(GAUGE, ("C1", "2020-01-01", 150, 60, "dipped")))
    report = house.load("events", table(EVENT, ("C1", "emptied", "2019-01-01", "", "", "")))
    assert "records until 2024-01-10" in message(report, 2, "happened_on")


def test_the_same_event_twice_wants_an_entry(house: House) -> None:
    rows = [("C1", "topped", "2015-01-01", 2, "", ""), ("C1", "topped", "2015-01-01", 3, "", "")]
    assert "row 2" in message(house.load("events", table(EVENT, *rows)), 3, "entry")
    entries = [(*row, number) for number, row in enumerate(rows, start=1)]
    house.take("events", table(f"{EVENT},entry", *entries))


def test_more_racked_in_than_fits(house: House) -> None:
    rows = [("C3", "re-racked", "2015-06-01", 190, parent, "") for parent in ("C1/1", "C2/1")]
    house.take("events", table(EVENT, *rows))
    report = house.load(
        "events",
        table(
            EVENT,
            rows[0],
            ("C3", "re-racked", "2015-06-01", 200, "C2/1", ""),
            ("C3", "re-racked", "2015-07-01", 200, "C1/1", ""),
        ),
    )
    assert "590 L in all" in message(report, 4, "litres")


def test_a_topping_takes_a_parent_and_comes_back_as_it_went(house: House) -> None:
    row = ("C1", "topped", "2015-06-01", 5, "C2/1", "")
    house.take("events", table(EVENT, row))
    saved = house.saved("events")
    assert b"C1/1,topped,2015-06-01,1,C2/1,5" in saved
    assert counts(house.take("events", saved)) == (0, 0, 1)


def test_a_topping_whose_parent_was_not_known_takes_it_later(house: House) -> None:
    house.take("events", table(EVENT, ("C1", "topped", "2015-06-01", 12, "", "")))
    told = table(
        EVENT,
        ("C1", "topped", "2015-06-01", 5, "C2/1", ""),
        ("C1", "topped", "2015-06-01", 7, "C3/1", ""),
    )
    assert counts(house.take("events", told)) == (1, 1, 0)
    saved = house.saved("events")
    assert b"C1/1,topped,2015-06-01,1,C2/1,5" in saved
    assert b"C1/1,topped,2015-06-01,1,,12" not in saved
    assert counts(house.take("events", saved)) == (0, 0, 2)


def test_a_topping_of_no_record_that_the_file_tells_too_stays_one(house: House) -> None:
    both = table(
        EVENT,
        ("C1", "topped", "2015-06-01", 5, "C2/1", ""),
        ("C1", "topped", "2015-06-01", 7, "", ""),
    )
    assert counts(house.take("events", both)) == (2, 0, 0)
    assert counts(house.take("events", both)) == (0, 0, 2)


def test_a_filling_has_one_origin(house: House) -> None:
    report = house.load("events", table(EVENT, ("C2", "re-racked", "2012-05-01", 100, "C1/1", "")))
    assert "has a make (smoky)" in message(report, 2, "filling")
    house.take("events", table(EVENT, ("C3", "re-racked", "2015-06-01", 100, "C1/1", "")))
    report = house.load("casks", CASKS.replace("C3/1,,", "C3/1,plain,"))
    assert "one origin" in message(report, 4, "make")


def test_rows_in_memory_with_other_keys_are_a_programmers_fault(house: House) -> None:
    with pytest.raises(ValueError, match="same keys"):
        load_rows(house.store, "makes", [{"make": "a"}, {"make": "b", "note": ""}], now=NOW, by=BY)


SECOND = ("C1", "American oak", 200, "2024-06-01", 2, 60, 180, "C1/2", "")


def test_a_filling_into_a_cask_that_was_not_emptied_is_refused(house: House) -> None:
    report = house.load("casks", table(CASK, SECOND))
    assert "C1/1, filled on 2010-05-01, lies in this cask" in message(report, 2, "filled_on")


def test_two_fillings_of_one_file_are_refused_with_every_other_fault(empty: House) -> None:
    rows = [
        ("C1", "oak", 200, "2010-05-01", 1, 63, 190, "C1/1", ""),
        ("C1", "oak", 200, "2014-05-01", 2, 63, 190, "C1/2", ""),
        ("C1", "oak", 200, "2018-05-01", 3, 63, 190, "C1/3", ""),
        ("C2", "oak", 200, "2018-05-01", 3, 63, 290, "C2/1", ""),
    ]
    report = empty.load("casks", table(CASK, *rows))
    assert [row for row, _, _ in said(report)] == [2, 3, 5]
    assert "C1/2 was filled into the same cask on 2014-05-01" in message(report, 2, "emptied_on")
    assert "C1/3 was filled" in message(report, 3, "emptied_on")
    with empty.store.read() as db:
        assert db.scalars(select(Filling)).all() == []


def test_an_older_filling_told_after_the_one_that_lies_there(house: House) -> None:
    older = ("C1", "American oak", 200, "2004-06-01", 1, 60, 180, "C1/0", "")
    report = house.load("casks", table(CASK, older))
    assert "C1/1 was filled into the same cask on 2010-05-01" in message(report, 2, "emptied_on")


def test_a_file_says_when_each_filling_was_emptied(house: House) -> None:
    first = ("C1", "American oak", 200, "2010-05-01", 1, 63.5, 190, "C1/1", "plain", "2024-06-01")
    content = table(f"{CASK},emptied_on", first, (*SECOND, ""))
    assert counts(house.take("casks", content)) == (1, 1, 0)
    assert counts(house.take("casks", content)) == (0, 0, 2)
    saved = house.saved("events")
    assert b"C1/1,emptied,2024-06-01" in saved
    assert counts(house.take("events", saved)) == (0, 0, 1)


@pytest.mark.parametrize(
    ("day", "words"),
    [
        ("2009-01-01", "was filled on 2010-05-01"),
        ("2023-01-01", "records until 2024-01-10"),
        ("2026-03-15", "future"),
    ],
)
def test_emptied_on_no_such_day(house: House, day: str, words: str) -> None:
    row = ("C1", "American oak", 200, "2010-05-01", 1, 63.5, 190, "C1/1", "plain", day)
    report = house.load("casks", table(f"{CASK},emptied_on", row))
    assert words in message(report, 2, "emptied_on")


def test_emptied_on_another_day_than_its_event_says(house: House) -> None:
    house.take("events", table(EVENT, ("C1", "emptied", "2024-06-01", "", "", "")))
    row = ("C1", "American oak", 200, "2010-05-01", 1, 63.5, 190, "C1/1", "plain", "2024-07-01")
    report = house.load("casks", table(f"{CASK},emptied_on", row))
    assert "emptied on 2024-06-01: correct that event" in message(report, 2, "emptied_on")


def test_a_cask_emptied_and_filled_on_one_day(house: House) -> None:
    rows = [("C1", "American oak", 200, "2024-06-01", 2, 60, 180, "C1/2", "")]
    house.take("events", table(EVENT, ("C1", "emptied", "2024-06-01", "", "", "")))
    house.take("casks", table(CASK, *rows))
    with house.store.read() as db:
        assert db.scalars(select(FillingEvent)).one().filling.label == "C1/1"
    report = house.load("regauges", table(GAUGE, ("C1", "2024-06-01", 150, 60, "dipped")))
    assert "name it in the column filling" in message(report, 2, "cask")


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        (("C1", "2009-01-01", 150, 60, "dipped"), "cask", "before it was filled"),
        (("C1", "2015-01-01", 350, 60, "dipped"), "bulk_l", "more than fits"),
        (("C1", "2015-01-01", 150, 0.6, "dipped"), "abv", "60, not 0.6"),
        (("C1", "2015-01-01", 150, 60, "guessed"), "method", "weighed, dipped"),
        (("C1", "2015-01-01", -1, 60, "dipped"), "bulk_l", "0 L or more"),
        (("C1", "2015-01-01", "", 60, "dipped"), "bulk_l", "must not be empty"),
    ],
)
def test_regauges_at_fault(house: House, row: tuple[object, ...], column: str, words: str) -> None:
    report = house.load("regauges", table(GAUGE, row))
    assert words in message(report, 2, column)


def test_litres_read_at_the_cask_are_kept_at_20_degrees(house: House) -> None:
    # OIML R 22: 200 L of 60 % gauged at 10 °C are 201.74 L at 20 °C.
    headings = f"{GAUGE},temperature_c,litres_at"
    row = ("C3", "2020-01-01", 200, 60, "dipped", 10)
    house.take("regauges", table(headings, (*row, "cask")))
    with house.store.read() as db:
        assert db.scalars(select(Regauge)).one().bulk_l == pytest.approx(201.74, abs=0.005)
    assert counts(house.take("regauges", table(headings, (*row, "cask")))) == (0, 0, 1)
    assert counts(house.take("regauges", table(headings, (*row, "20")))) == (0, 1, 0)
    assert counts(house.take("regauges", table(headings, (*row, "")))) == (0, 0, 1)


def test_litres_at_the_cask_want_its_temperature(house: House) -> None:
    row = ("C3", "2020-01-01", 200, 60, "dipped", "", "cask")
    report = house.load("regauges", table(f"{GAUGE},temperature_c,litres_at", row))
    assert "want that" in message(report, 2, "temperature_c")
    other = ("C3", "2020-01-01", 200, 60, "dipped", 10, "15")
    report = house.load("regauges", table(f"{GAUGE},temperature_c,litres_at", other))
    assert "20, cask" in message(report, 2, "litres_at")


def questions(report: LoadReport) -> list[tuple[int, str]]:
    return [(each.row, each.column) for each in report.questions]


def test_a_filling_stronger_than_whisky_is_distilled_is_asked_about(house: House) -> None:
    rows = [
        ("C8", "oak", 200, "2010-01-01", 1, 95.0, 190, "", "plain"),
        ("C9", "oak", 200, "2010-01-01", 1, 94.7, 190, "", "plain"),
    ]
    report = house.take("casks", table(CASK, *rows))
    assert counts(report) == (2, 0, 0)
    assert questions(report) == [(2, "fill_abv")]
    assert "less than 94.8 % vol" in report.questions[0].message


@pytest.mark.parametrize(
    ("campaign", "year", "asked"),
    [
        *(("2008-2012", 2010, False), ("2008-2012", 2013, True), ("2008 - 2012", 2007, True)),
        *(("2009", 2009, False), ("2009", 2010, True), ("autumn", 2010, False), ("", 2010, False)),
    ],
)
def test_a_make_filled_outside_its_campaign_is_asked_about(
    empty: House, campaign: str, year: int, asked: bool
) -> None:
    headings = "make,site,cereal,phenol_ppm,campaign"
    empty.take("makes", table(headings, ("Ember", "Weir", "barley", 20, campaign)))
    row = ("C9", "oak", 200, f"{year}-03-01", 1, 63.5, 190, "", "Ember")
    report = empty.take("casks", table(CASK, row))
    assert bool(report.questions) is asked


def test_two_regauges_of_one_day(house: House) -> None:
    row = ("C1", "2015-01-01", 150, 60, "dipped")
    assert "row 2 already" in message(house.load("regauges", table(GAUGE, row, row)), 3)


def test_today_is_the_sites_own(house: House) -> None:
    content = table(GAUGE, ("C1", "2026-03-15", 150, 60, "dipped"))
    assert "today is 2026-03-14" in message(house.load("regauges", content), 2)
    with house.store.write() as db:
        change_setting(db, "time_zone", "Pacific/Auckland", now=FIXED_NOW, by=None)
    house.take("regauges", content)


DRAW = "sample,kind,filling,cask,drawn_on,abv,reduced_to,parts"


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        (("X", "cask", "", "", "", "", "", ""), "filling", "name the filling"),
        (("X", "cask", "C1/1", "C2", "", "", "", ""), "cask", "is in cask C1"),
        (("X", "cask", "C1/2", "", "", "", "", ""), "filling", "nearest: C1/1"),
        (("X", "reference", "C1/1", "", "", "", "", ""), "filling", "no cask"),
        (("X", "cask", "C1/1", "", "2009-01-01", "", "", ""), "drawn_on", "filled on 2010-05-01"),
        (("X", "cask", "C1/1", "", "", 40, 45, ""), "reduced_to", "lowers"),
        (("X", "market", "", "", "", "", "", "C1/1=5"), "parts", "only a trial"),
        (("X", "trial", "", "", "", "", "", "C1/9=5"), "parts", "nearest: C1/1"),
        (("X", "barrel", "", "", "", "", "", ""), "kind", "one of cask"),
    ],
)
def test_draws_at_fault(house: House, row: tuple[object, ...], column: str, words: str) -> None:
    assert words in message(house.load("draws", table(DRAW, row)), 2, column)


def test_the_parts_of_a_trial_change(house: House) -> None:
    for parts in ("C1/1=60; C2/1=40", "C2/1=45; C3/1=5"):
        house.take("draws", table(DRAW, ("T1", "trial", "", "", "", "", "", parts)))
    with house.store.read() as db:
        draw = db.scalars(select(Draw).where(Draw.label == "T1")).one()
        held = {part.filling.label: part.millilitres for part in draw.parts}
    assert held == {"C2/1": 45.0, "C3/1": 5.0}


def test_a_sample_that_was_poured_stays_the_liquid_it_was(house: House) -> None:
    with house.store.write() as db:
        draw = db.scalars(select(Draw).where(Draw.label == "C1 spring")).one()
        session = PanelSession(name="S", status=SessionStatus.REVEALED, loaded=True)
        db.add(session)
        db.flush()
        kind = GlassKind.TEST
        db.add(KeyRow(session_id=session.id, code="123", draw=draw, kind=kind, replicate=1))
    rows = "sample,kind,filling\nC1 spring,cask,C2/1\n"
    assert "session S" in message(house.load("draws", rows), 2, "filling")
    rows = "sample,kind,filling\nC1 spring,reference,\n"
    assert "session S" in message(house.load("draws", rows), 2, "kind")


def test_lexicon_versions_follow_each_other(house: House) -> None:
    headings = (
        "descriptor,stage,low_words,high_words,version,pools_with_previous,introduced_on,retired_on"
    )
    rows = [
        ("hearth smoke", "nose", "a", "b", 3, "yes", "", ""),
        ("new word", "nose", "a", "b", 1, "yes", "", ""),
        ("old word", "nose", "a", "b", 1, "", "2020-01-01", "2019-01-01"),
        ("odd word", "middle", "a", "b", 1, "maybe", "", ""),
    ]
    report = house.load("lexicon", table(headings, *rows))
    assert [(row, column) for row, column, _ in said(report)] == [
        (2, "version"),
        (3, "pools_with_previous"),
        (4, "retired_on"),
        (5, "stage"),
        (5, "pools_with_previous"),
    ]


def test_people_with_roles_and_names(house: House) -> None:
    report = house.take("assessors", "assessor,roles,name\nAlder,lead+assessor,A. Person\n")
    assert counts(report) == (0, 1, 0)
    assert b"Person" not in house.saved("assessors")
    assert b"A. Person" in house.saved("assessors", names=True)
    assert (house.folder / "saved.csv").stat().st_mode & 0o777 == 0o600
    assert house.take("assessors", "assessor\nAlder\n").unchanged == 1
    assert b"Alder,assessor+lead" in house.saved("assessors")
    house.take("assessors", "assessor,name\nAlder,\n")
    assert b"Person" not in house.saved("assessors", names=True)
    with house.store.read() as db:
        assert all(
            "Person" not in (entry.body_json or "") for entry in db.scalars(select(LogEntry))
        )


def test_targets(house: House) -> None:
    rows = [("T", "hearth smoke", 20, 5), ("T", "plum stone", 130, 0), ("T", "plum ston", 30, 5)]
    report = house.load("targets", table("target,descriptor,aim,tolerance", *rows))
    assert said(report) == [
        (3, "aim", "130"),
        (3, "tolerance", "0"),
        (4, "descriptor", "plum ston"),
    ]
    house.take("targets", table("target,descriptor,aim,tolerance", *rows[:1]))
    assert b"T,hearth smoke,20,5,1\n" in house.saved("targets")


def test_one_record_from_a_form(house: House) -> None:
    values = {"cask": "C1", "gauged_on": "2020-02-03", "bulk_l": "171.5", "abv": "59.8"}
    report = add_record(house.store, "regauges", {**values, "method": "dippd"}, now=NOW, by=BY)
    assert said(report) == [(0, "method", "dippd")]
    assert report.problems[0].sentence().startswith("form, column method ('dippd'): must be")
    report = add_record(house.store, "regauges", {**values, "method": "dipped"}, now=NOW, by=BY)
    assert (counts(report), report.written) == ((1, 0, 0), True)
    with house.store.read() as db:
        assert db.scalars(select(Regauge)).one().bulk_l == 171.5


def test_a_decimal_comma_in_a_form_is_not_guessed(house: House) -> None:
    values = {"cask": "C1", "gauged_on": "2020-02-03", "bulk_l": "171,5", "abv": "59.8"}
    report = add_record(house.store, "regauges", {**values, "method": "dipped"}, now=NOW, by=BY)
    assert "write 171.5" in message(report, 0, "bulk_l")


def test_rows_in_memory(house: House) -> None:
    rows: list[dict[str, Any]] = [{"assessor": "Teal"}, {"assessor": ""}]
    report = load_rows(house.store, "assessors", rows, now=NOW, by=BY, file="typed")
    assert said(report) == [(3, "assessor", "")]


def test_draw_kinds_are_those_of_the_records() -> None:
    assert {kind.value for kind in DrawKind} == {"cask", "reference", "trial", "market"}


def test_a_parcel_is_kept_of_a_filling_and_said_wherever_the_cask_is(house: House) -> None:
    headings = "cask,wood,size_l,filled_on,fill_number,fill_abv,fill_bulk_l,filling,parcel"
    row = ("C9", "oak barrel", 200, "2019-03-03", 1, 63.5, 190, "C9/1", "[/x] spring 19")
    assert counts(house.take("casks", table(headings, row))) == (1, 0, 0)
    assert b"[/x] spring 19" in house.saved("casks")
    with house.store.read() as db:
        life = cask_life(db, "C9", NOW.date())
        line = next(each for each in cask_lines(db, NOW.date()) if each.number == "C9")
    assert life.today is not None
    assert "parcel [/x] spring 19" in today_words(life.today)
    assert "parcel [/x] spring 19" in "\n".join(state_lines(life))
    assert filling_told(life.today).parcel == "[/x] spring 19"
    assert "[/x] spring 19" in words_of(line)
