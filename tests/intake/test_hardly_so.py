"""Strengths that hardly are so, roles in one cell, figures rounded as on paper.

That no spirit lies in a cask under 20 % vol, and that none rises by more than 15 points of % vol in
wood, is common practice, no source; likewise what strength and litres hardly do between two gauges.
"""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import select

from panel.figures import tenths
from panel.intake.loading import add_record
from panel.questions.cask_life import cask_lines
from panel.questions.cask_narrowing import Flag, flags_of
from panel.store.people import Person
from panel.words.load_words import fault_lines
from tests.intake.files import BY, NOW, House, counts, message, said

CASK = "cask,wood,size_l,filled_on,fill_number,fill_abv,fill_bulk_l\n"
GAUGE = "cask,gauged_on,bulk_l,abv,method\n"
WEAK = f"{CASK}C8,oak,200,2014-09-03,1,6.35,190\n"


def test_a_strength_at_filling_that_is_hardly_so_is_asked_about(empty: House) -> None:
    report = empty.load("casks", WEAK)
    assert (report.written, said(report)) == (False, [(2, "fill_abv", "6.35")])
    assert "is 63.5 meant?" in message(report, 2)
    assert "say --sure" in list(fault_lines(report))[-1]
    report = empty.take("casks", WEAK, sure=True)
    assert (counts(report), len(report.questions)) == ((1, 0, 0), 1)
    assert empty.take("casks", WEAK).unchanged == 1  # once it stands, the same file changes nothing


def test_a_gauge_far_above_the_filling_is_asked_about(house: House) -> None:
    far = f"{GAUGE}C1,2020-01-01,150,79,dipped\n"
    report = house.load("regauges", far)
    assert "15.5 points above the 63.5 % vol at filling" in message(report, 2)
    house.take("regauges", far.replace("79", "78.5"))
    assert house.take("regauges", far, sure=True).questions


def test_a_filling_under_its_gauge_is_asked_about_too(house: House) -> None:
    house.take("regauges", f"{GAUGE}C1,2020-01-01,150,60,dipped\n")
    wrong = f"{CASK}C1,American oak,200,2010-05-01,1,26.35,190\n"
    assert "the gauge of 2020-01-01" in message(house.load("casks", wrong), 2, "fill_abv")


def test_what_was_topped_may_be_stronger(house: House) -> None:
    house.take("casks", f"{CASK}C8,oak,200,2014-09-03,1,41,90\n")
    house.take("events", "cask,kind,happened_on,litres,abv\nC8,topped,2015-01-01,90,75\n")
    house.take("regauges", f"{GAUGE}C8,2020-01-01,150,57,dipped\n")


def test_a_draw_is_held_to_its_cask(house: House) -> None:
    drawn = "sample,kind,cask,drawn_on,abv\nC1 May,cask,C1,2024-05-01,5.79\n"
    assert "is 57.9 meant?" in message(house.load("draws", drawn), 2, "abv")


@pytest.mark.parametrize("litres", ["15", "190"])
def test_litres_far_from_the_gauge_before_are_asked_about(house: House, litres: str) -> None:
    house.take("regauges", f"{GAUGE}C1,2026-01-10,152,60.2,dipped\n")
    far = f"{GAUGE}C1,2026-01-31,{litres},60.2,dipped\n"
    report = house.load("regauges", far)
    assert said(report) == [(2, "bulk_l", litres)]
    assert f"{litres} L, but 152 L on 2026-01-10" in message(report, 2)
    assert house.take("regauges", far, sure=True).questions
    house.take("regauges", f"{GAUGE}C2,2026-01-31,150,60.2,dipped\n")


def test_litres_far_from_the_gauge_after_are_asked_about(house: House) -> None:
    house.take("regauges", f"{GAUGE}C1,2026-01-31,150,60.2,dipped\n")
    report = house.load("regauges", f"{GAUGE}C1,2025-12-01,15,60.2,dipped\n")
    assert any("150 L on 2026-01-31" in each.message for each in report.problems)


def test_what_was_drawn_explains_fewer_litres(house: House) -> None:
    house.take("regauges", f"{GAUGE}C1,2026-01-10,152,60.2,dipped\n")
    drawn = "sample,kind,cask,drawn_on,abv,volume_ml\nAll,cask,C1,2026-01-20,60,130000\n"
    house.take("draws", drawn)
    house.take("regauges", f"{GAUGE}C1,2026-01-31,20,60.2,dipped\n")


def test_a_strength_far_from_the_gauge_before_is_asked_about(house: House) -> None:
    house.take("regauges", f"{GAUGE}C1,2026-01-10,152,60.2,dipped\n")
    report = house.load("regauges", f"{GAUGE}C1,2026-01-31,151,75.2,dipped\n")
    assert said(report) == [(2, "abv", "75.2")]
    assert "60.2 % vol was measured on 2026-01-10" in message(report, 2)
    house.take("regauges", f"{GAUGE}C1,2026-01-31,151,69.2,dipped\n")


def test_a_draw_of_more_than_the_cask_held_is_asked_about(house: House) -> None:
    house.take("regauges", f"{GAUGE}C1,2026-01-10,152,60.2,dipped\n")
    drawn = "sample,kind,cask,drawn_on,abv,volume_ml\nBig,cask,C1,2026-01-31,75.5,200000\n"
    report = house.load("draws", drawn)
    assert said(report) == [(2, "abv", "75.5"), (2, "volume_ml", "200000")]
    assert "200 L drawn, but it held 152 L on 2026-01-10" in message(report, 2, "volume_ml")
    house.take("draws", drawn.replace("75.5,200000", "60.5,200"))


def test_one_record_from_a_form_is_taken_once_it_was_asked_about(house: House) -> None:
    row = {"cask": "C1", "gauged_on": "2020-01-01", "bulk_l": "9", "abv": "6", "method": "dipped"}
    assert add_record(house.store, "regauges", row, now=NOW, by=BY).written


@pytest.mark.parametrize(("number", "shown"), [(6.35, "6.4"), (6.25, "6.3"), (63.449, "63.4")])
def test_a_half_goes_up(number: float, shown: str) -> None:
    assert tenths(number) == shown


def test_a_cask_that_was_never_gauged_is_not_told_to_have_an_old_gauge(house: House) -> None:
    house.take("regauges", f"{GAUGE}C1,2020-01-01,150,60,dipped\n")
    with house.store.read() as db:
        lines = {line.number: flags_of(line) for line in cask_lines(db, date(2026, 3, 14))}
    assert Flag.GAUGE in lines["C1"]
    assert Flag.NEVER not in lines["C1"]
    assert Flag.NEVER in lines["C2"]
    assert Flag.GAUGE not in lines["C2"]


@pytest.mark.parametrize("roles", ["lead, assessor", "lead/assessor", "Lead & Assesor"])
def test_a_fault_of_roles_says_how_several_are_joined(empty: House, roles: str) -> None:
    report = empty.load("assessors", f'assessor,roles\nAlder,"{roles}"\n')
    told = message(report, 2, "roles")
    assert "several are joined by +, such as lead+assessor" in told
    assert told.endswith("nearest: lead+assessor")


def test_roles_joined_by_a_plus_are_taken(empty: House) -> None:
    empty.take("assessors", "assessor,roles\nAlder,Lead + assessor\n")
    with empty.store.read() as db:
        person = db.scalars(select(Person)).one()
        assert {held.role.value for held in person.roles} == {"lead", "assessor"}
