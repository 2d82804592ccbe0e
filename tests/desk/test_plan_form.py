from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.desk.app import DeskApp
from panel.desk.homes import page_of
from panel.desk.pick import PickPage
from panel.desk.plan_entry import BETWEEN, read_plan, values_of
from panel.desk.plan_form import PlanForm
from panel.desk.plan_jobs import keep_plan, try_plan
from panel.desk.seats_form import SeatsForm
from panel.desk.session_page import SessionPage
from panel.desk.sessions import SessionsPage
from panel.desk.slip import Confirm, ReadSlip
from panel.kinds import Manner, Role, SessionKind, SessionStatus
from panel.session.assigned import Assigned
from panel.session.drafts import planned_again
from panel.session.plan import SecretBits, lexicon_names, plan_session
from panel.session.plan_parts import AS_DRAFTED, AUTO, doubled
from panel.session.summary import summarise
from panel.store.engine import Store
from panel.store.finding import find_session
from panel.store.house_setting import HouseSetting
from panel.store.log import LogEntry
from panel.store.sessions import PanelSession
from panel.store.who import lead_code
from tests.desk.driving import press, seen, settle
from tests.houses.at_the_desk import ASSESSORS, DESCRIPTORS
from tests.houses.held_at_the_desk import NAME, NOW, hold
from tests.houses.parts import person

FULL = {
    "name": "Thursday",
    "assessors": "\n".join(ASSESSORS),
    "draws": "D1\nD2\nD3",
    "descriptors": "\n".join(DESCRIPTORS),
}

BODIES = select(LogEntry.body_json)


def test_what_is_needed_is_asked_for() -> None:
    plan, faults = read_plan({})
    assert plan is None
    assert set(faults) == {"name", "assessors", "draws", "descriptors"}


def test_figures_that_cannot_be_read_are_faults_of_their_fields() -> None:
    plan, faults = read_plan(
        {**FULL, "held_on": "tomorrow", "replicates": "0", "pour_ml": "-1", "pause_s": "soon"}
    )
    assert plan is None
    assert set(faults) == {"held_on", "replicates", "pour_ml", "pause_s"}


def test_a_plan_is_read_as_it_was_typed() -> None:
    plan, faults = read_plan(
        {
            **FULL,
            "held_on": "2026-03-14",
            "manner": "taste",
            "duplicate": "none",
            "own_codes": "yes",
        }
    )
    assert faults == {}
    assert plan is not None
    assert plan.assessors == ASSESSORS
    assert (plan.held_on, plan.manner) == (date(2026, 3, 14), Manner.TASTE)
    assert plan.duplicates == ()
    assert plan.codes_per_assessor
    again, _ = read_plan(FULL)
    assert again is not None
    assert again.duplicates == (AUTO,)
    twice, _ = read_plan({**FULL, "duplicate": "auto twice"})
    assert twice is not None
    assert twice.duplicates == (AUTO, AUTO)


def test_a_draft_goes_back_into_the_form(house: Store) -> None:
    hold(house, "draft")
    with house.read() as db:
        values = values_of(planned_again(db, NAME))
    plan, faults = read_plan(values)
    assert faults == {}
    assert plan is not None
    assert plan.name == NAME
    assert plan.draws == ("D1", "D2", "D3", "D4")
    assert plan.duplicates == (AS_DRAFTED,), "which one the secret bits chose is not told"
    assert (plan.reference, plan.warm_up) == ("House reference", "Warm-up")
    assert plan.replicates == 1


async def test_a_session_is_planned_from_lists_and_kept_on_a_yes(
    house: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", *"Thursday", "enter")
        form = desk.screen
        assert isinstance(form, PlanForm)
        await press(pilot, "enter")
        assert isinstance(desk.screen, PickPage)
        await press(pilot, "t", "enter")
        assert form.values()["assessors"].splitlines() == list(ASSESSORS)
        await press(pilot, "enter", "space", "space", "space", "enter")
        await press(pilot, "down", "enter", "t", "enter")
        assert len(form.values()["draws"].splitlines()) == 3
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, Confirm)
        assert "minutes" in desk.screen.text
        assert "g if all were swallowed" in desk.screen.text
        assert " glasses; draw " not in desk.screen.text, "that tells which is poured twice"
        with house.read() as db:
            assert db.scalars(select(PanelSession)).all() == []
            assert all("planned" not in (body or "") for body in db.scalars(BODIES))
        await press(pilot, "y")
        assert isinstance(desk.screen, SessionPage)
        assert "s seals it" in "\n".join(seen(desk))
        with house.read() as db:
            session = db.scalars(select(PanelSession)).one()
            assert (session.name, session.status) == ("Thursday", SessionStatus.DRAFT)
            assert [seat.person.code for seat in session.assessors] == list(ASSESSORS)
        await press(pilot, "escape")
        assert isinstance(desk.screen, SessionsPage)
        assert [line.name for line in desk.screen.list.shown] == ["Thursday"]


@pytest.mark.slow
async def test_a_plan_that_cannot_be_served_is_refused_with_every_reason(
    house: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(PlanForm({**FULL, "reference": "D1", "warm_up": "D2"}))
        await settle(pilot)
        await press(pilot, "ctrl+s")
        slip = desk.screen
        assert isinstance(slip, ReadSlip)
        assert "'D1' is both a draw to nose and the reference" in slip.text
        assert "'D2' is both a draw to nose and the warm-up" in slip.text
        await press(pilot, "escape")
        assert isinstance(desk.screen, PlanForm)
        with house.read() as db:
            assert db.scalars(select(PanelSession)).all() == []


@pytest.mark.slow
async def test_a_draft_is_planned_again_under_its_name(house: Store, desk: DeskApp) -> None:
    hold(house, "draft")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "j")
        form = desk.screen
        assert isinstance(form, PlanForm)
        line = form.line_of("draws")
        assert line is not None
        line.entry.value = "D1\nD2\nD5"
        other = form.line_of("duplicate")
        assert other is not None
        other.entry.value = "D5"
        await press(pilot, "ctrl+s", "y")
        page = desk.screen
        assert isinstance(page, SessionPage)
        assert page.told is not None
        assert page.told.plan_values["draws"].splitlines() == ["D1", "D2", "D5"]
        with house.read() as db:
            assert len(db.scalars(select(PanelSession)).all()) == 1


KEPT_BESIDE = ("kind", "most_words", "seed")
OWN = ("own words", "5", "4711")
"""Lines, most words, and the number of a rehearsal."""


@pytest.mark.slow
async def test_planning_again_keeps_own_words_their_number_and_the_rehearsal(
    house: Store, desk: DeskApp
) -> None:
    typed = dict(zip(KEPT_BESIDE, OWN, strict=True))
    plan, faults = read_plan({**FULL, "descriptors": "", **typed})
    assert plan is not None, faults
    with house.write() as db:
        plan_session(db, plan, now=NOW, by=lead_code(db, None))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "j")
        form = desk.screen
        assert isinstance(form, PlanForm)
        assert tuple(form.values()[name] for name in KEPT_BESIDE) == OWN
        await press(pilot, "ctrl+s", "y")
    with house.read() as db:
        session = db.scalars(select(PanelSession)).one()
        assert (session.kind, session.most_words) == (SessionKind.OWN_WORDS, 5)
        assert session.rehearsal
        assert planned_again(db, "Thursday").seed == 4711


@pytest.mark.slow
def test_what_was_agreed_to_is_what_is_kept(house: Store) -> None:
    """The draw that the secret bits double is the one that the question showed."""
    plan, _ = read_plan({**FULL, "draws": "D1\nD2\nD3\nD4\nD5"})
    assert plan is not None
    for _ in range(6):
        tried = try_plan(house, plan, now=NOW, by=None)
        assert keep_plan(house, tried, now=NOW, by=None) is None
        shown = [line for line in tried.lines if "is replaced by this plan" not in line]
        with house.read() as db:
            assert summarise(db, "Thursday").as_told_for(plan).lines() == shown
        assert str(tried.bits.value) not in repr(tried)


def test_a_draft_that_would_be_another_one_now_is_asked_for_again(house: Store) -> None:
    plan, _ = read_plan(FULL)
    assert plan is not None
    tried = try_plan(house, plan, now=NOW, by=None)
    with house.write() as db:
        db.add(HouseSetting(name="pour_ml", value="30"))
    changed = keep_plan(house, tried, now=NOW, by=None)
    assert changed is not None
    assert changed.lines != tried.lines
    with house.read() as db:
        assert db.scalars(select(PanelSession)).all() == []
    assert keep_plan(house, changed, now=NOW, by=None) is None


def test_lines_stand_in_the_order_of_the_lexicon(house: Store) -> None:
    with house.write() as db:
        names = lexicon_names(db, Manner.NOSE, date(2026, 3, 14))
        plan, _ = read_plan({**FULL, "descriptors": "\n".join(sorted(names, reverse=True))})
        assert plan is not None
        plan_session(db, plan, now=NOW, by=lead_code(db, None))
        assert planned_again(db, "Thursday").descriptors == names


@pytest.mark.slow
def test_two_draws_may_be_doubled(house: Store) -> None:
    plan, _ = read_plan({**FULL, "draws": "D1\nD2\nD3\nD4", "duplicate": "D1\nD3"})
    assert plan is not None
    assert plan.duplicates == ("D1", "D3")
    with house.write() as db:
        plan_session(db, plan, now=NOW, by=lead_code(db, None))
        assert twice(db, "Thursday") == {"D1", "D3"}
        again, _ = read_plan(values_of(planned_again(db, "Thursday")))
        assert again is not None
        plan_session(db, again, now=NOW, by=lead_code(db, None))
        assert twice(db, "Thursday") == {"D1", "D3"}
        # One of them is nosed no more: the other one stays, and a new one is chosen.
        fewer = replace(again, draws=tuple(draw for draw in again.draws if draw != "D1"))
        plan_session(db, fewer, now=NOW, by=lead_code(db, None))
        assert len(twice(db, "Thursday")) == 2
        assert "D3" in twice(db, "Thursday")
        elsewhere = replace(again, name="Friday")
        plan_session(db, elsewhere, now=NOW, by=lead_code(db, None))
        assert len(twice(db, "Friday")) == 2, "without that draft the secret bits choose"


def twice(db: Session, name: str) -> set[str]:
    """Return the draws of a draft that are poured more often than the others."""
    return {row.draw.label for row in doubled(db, find_session(db, name).id)}


def test_what_the_secret_bits_doubled_stays_doubled_and_untold(house: Store) -> None:
    plan, _ = read_plan(FULL)
    assert plan is not None
    assert plan.duplicates == (AUTO,)
    for seed in range(4):
        with house.write() as db:
            lead = lead_code(db, None)
            plan_session(db, plan, now=NOW, by=lead, bits=SecretBits(seed))
            before = twice(db, "Thursday")
            values = values_of(planned_again(db, "Thursday"))
            again, _ = read_plan(values)
            assert again is not None
            plan_session(db, again, now=NOW, by=lead, bits=SecretBits(seed + 9))
            assert twice(db, "Thursday") == before
            assert values["duplicate"] == AS_DRAFTED


@pytest.mark.slow
async def test_like_last_time_fills_the_form_and_leaves_the_draws_open(
    house: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "comma")
        assert "No session of this kind" in "\n".join(seen(desk))
        hold(house, "sealed")
        await press(pilot, "f5", "comma")
        form = desk.screen
        assert isinstance(form, PlanForm)
        values = form.values()
        assert {"name", "draws", "seed", "held_on"}.isdisjoint(values)
        assert values["assessors"].splitlines() == list(ASSESSORS)
        assert values["reference"] == "House reference"
        assert form.focused is form.lines[0].entry
        form.lines[0].entry.value = "Thursday 13"
        form.lines[2].entry.value = "D1\nD2\nD3"
        await press(pilot, "ctrl+s", "y")
        assert isinstance(desk.screen, SessionPage)
        assert desk.screen.session_name == "Thursday 13"


def test_a_plan_of_different_trays_is_planned_again_as_it_was(house: Store) -> None:
    pairs = [(who, draw) for who in ASSESSORS for draw in ("D1", "D2", "D3")][1:]
    ticked = "\n".join(f"{who}{BETWEEN}{draw}" for who, draw in pairs)
    plan, faults = read_plan({**FULL, "assigned": ticked, "peat": "balanced", "search": "2"})
    assert plan is not None, faults
    assert plan.assigned == tuple(Assigned(who, draw) for who, draw in pairs)
    with house.write() as db:
        plan_session(db, plan, now=NOW, by=lead_code(db, None))
        again, _ = read_plan(values_of(planned_again(db, "Thursday")))
    assert again is not None
    assert set(again.assigned) == set(plan.assigned)
    assert again.search == 2


@pytest.mark.slow
async def test_a_late_assessor_is_let_in_at_the_desk(house: Store, desk: DeskApp) -> None:
    hold(house, "sealed")
    with house.write() as db:
        db.add(person("ZZ", Role.ASSESSOR))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await desk.push_screen(page_of("seats", NAME))
        await settle(pilot)
        form = desk.screen
        assert isinstance(form, SeatsForm)
        form.lines[0].entry.value = "CD"
        form.lines[1].entry.value = "ZZ"
        await press(pilot, "ctrl+s")
    with house.read() as db:
        seats = find_session(db, NAME).assessors
        assert {seat.seat: seat.person.code for seat in seats}[2] == "ZZ"


@pytest.mark.slow
async def test_a_mark_goes_once_another_kind_does_not_want_the_field(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        given = {name: FULL[name] for name in ("name", "assessors")}
        desk.push_screen(PlanForm(given))
        await settle(pilot)
        form = desk.screen
        assert isinstance(form, PlanForm)
        await press(pilot, "ctrl+s")
        assert {line.field.name for line in form.lines if line.at_fault} == {"draws", "descriptors"}
        for name, value in (("kind", SessionKind.PASSING.value), ("parcel", "low 2012")):
            line = form.line_of(name)
            assert line is not None
            line.entry.value = value
        await settle(pilot)
        assert not [line.field.name for line in form.lines if line.at_fault]
