"""A target made at the desk from a cask, a release or another target equals the command's."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from panel.desk.app import DeskApp
from panel.desk.like_page import KeepLikeForm, LikePage, Source
from panel.desk.slip import Confirm
from panel.kinds import Role
from panel.questions.target_making import likeness
from panel.questions.targets import target_record
from panel.records.targets import make_target
from panel.session.stages import close_session, reveal_session
from panel.store.engine import Store
from panel.store.people import Person, PersonRole
from tests.conftest import FIXED_NOW
from tests.desk.driving import press, settle
from tests.desk.test_forms import fault_beside
from tests.houses.held_at_the_desk import hold, score_all


@pytest.fixture
def nosed(house: Store) -> Store:
    with house.write() as db:
        lead = db.scalars(select(Person).where(Person.code == "LD")).one()
        lead.roles.append(PersonRole(role=Role.BLENDER))
    hold(house, "open")
    score_all(house)
    for step in (close_session, reveal_session):
        with house.write() as db:
            step(db, "Thursday 12", now=FIXED_NOW, by="LD")
    return house


@pytest.mark.slow
async def test_like_a_cask_with_more_of_a_note_and_without_another(
    nosed: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(LikePage(Source(cask="SW1")))
        await settle(pilot)
        page = desk.screen
        assert isinstance(page, LikePage)
        more, dropped = list(page.rows)[:2]
        await press(pilot, "plus", "plus", "down", "space", "k", *"Lantern", "enter", *"8")
        assert isinstance(desk.screen, KeepLikeForm)
        await press(pilot, "ctrl+s")
        with nosed.read() as db:
            made = target_record(db, "Lantern").to_dict()
    with nosed.write() as db:
        only = tuple(name for name in page.rows if name != dropped)
        like = likeness(db, cask="SW1", changes={more: (True, 10.0)}, only=only, as_of=desk.today())
        make_target(db, "By hand", like, tolerance=8.0, only=only, now=FIXED_NOW, by="LD")
        by_command = target_record(db, "By hand").to_dict()
    assert made["lines"] == by_command["lines"]
    assert len(made["lines"]) == len(page.rows) - 1
    assert {line["tolerance"] for line in made["lines"]} == {8.0}


async def test_a_leaking_cask_is_asked_about_first(nosed: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(LikePage(Source(cask="SW2")))
        await settle(pilot)
        assert isinstance(desk.screen, Confirm)
        await press(pilot, "y")
        page = desk.screen
        assert isinstance(page, LikePage)
        assert page.with_held
        assert page.rows


@pytest.mark.slow
async def test_like_a_target_that_has_its_name_already(nosed: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "3")
        await desk.run_action("like", desk.screen)
        await settle(pilot)
        page = desk.screen
        assert isinstance(page, LikePage)
        name = page.source.target
        assert name is not None
        await press(pilot, "k", *name, "enter", *"-2", "ctrl+s")
        assert "above zero" in fault_beside(desk, "tolerance")
        await press(pilot, "backspace", "backspace", "ctrl+s")
        assert "already" in fault_beside(desk, "name")
