from __future__ import annotations

from datetime import date

from sqlalchemy import select

from panel.desk.app import DeskApp
from panel.desk.pick import PickPage
from panel.desk.plan_entry import read_plan, values_of
from panel.desk.plan_form import PlanForm
from panel.desk.session_page import SessionPage
from panel.desk.sessions import SessionsPage
from panel.desk.slip import Confirm, ReadSlip
from panel.kinds import Manner, SessionStatus
from panel.session.drafts import planned_again
from panel.session.plan_parts import AUTO
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.sessions import PanelSession
from tests.desk.driving import press, seen, settle
from tests.houses.at_the_desk import ASSESSORS, DESCRIPTORS
from tests.houses.held_at_the_desk import NAME, hold

FULL = {
    "name": "Thursday",
    "assessors": "\n".join(ASSESSORS),
    "draws": "D1\nD2\nD3",
    "descriptors": "\n".join(DESCRIPTORS),
}


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
    assert plan.duplicate is None
    assert plan.codes_per_assessor
    again, _ = read_plan(FULL)
    assert again is not None
    assert again.duplicate == AUTO


def test_a_draft_goes_back_into_the_form(house: Store) -> None:
    hold(house, "draft")
    with house.read() as db:
        values = values_of(planned_again(db, NAME))
    plan, faults = read_plan(values)
    assert faults == {}
    assert plan is not None
    assert plan.name == NAME
    assert plan.draws == ("D1", "D2", "D3", "D4")
    assert plan.duplicate in plan.draws
    assert (plan.reference, plan.warm_up) == ("House reference", "Warm-up")
    assert plan.replicates == 1


async def test_a_session_is_planned_from_lists_and_kept_on_a_yes(
    house: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", *"Thursday", "down", "down", "enter")
        form = desk.screen
        assert isinstance(form, PlanForm)
        await press(pilot, "enter")
        assert isinstance(desk.screen, PickPage)
        await press(pilot, "a", "enter")
        assert form.values()["assessors"].splitlines() == list(ASSESSORS)
        await press(pilot, "enter", "space", "space", "space", "enter", "enter", "a", "enter")
        assert len(form.values()["draws"].splitlines()) == 3
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, Confirm)
        assert "minutes" in desk.screen.text
        assert "g if all were swallowed" in desk.screen.text
        with house.read() as db:
            assert db.scalars(select(PanelSession)).all() == []
            assert db.scalars(select(LogEntry)).all() == []
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


async def test_a_draft_is_planned_again_under_its_name(house: Store, desk: DeskApp) -> None:
    hold(house, "draft")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "p")
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
