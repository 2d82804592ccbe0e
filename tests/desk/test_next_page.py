"""The next session at the desk: what the command answers, swapped, drawn and planned by keys."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from panel.desk.app import DeskApp
from panel.desk.big_table import BigTable
from panel.desk.next_forms import NextChoicesPage, PlanNextForm
from panel.desk.next_page import NextPage, NextTable
from panel.desk.pick import PickPage
from panel.desk.power_page import PowerForm, PowerPage
from panel.desk.review_page import StockPartForm
from panel.desk.session_page import SessionPage
from panel.desk.slip import ReadSlip
from panel.desk.target_page import TargetPage
from panel.questions.next_choices import NextChoice
from panel.questions.next_session import next_session
from panel.questions.next_wanted import NextWanted
from panel.questions.stock_part import StockPart
from panel.questions.targets import target_record
from panel.session.drafts import planned_again
from panel.store.casks import Filling
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle, signed_in
from tests.desk.kept_pictures import check_pictures
from tests.houses.nosed import NOW, TODAY, build_nosed_to_plan

BEST_TWO = NextChoice("Best casks", "Fen", NextWanted(target="Fen", best=2))


@pytest.fixture
def nosed(store: Store) -> Store:
    build_nosed_to_plan(store)
    return store


@pytest.fixture
def desk(nosed: Store) -> DeskApp:
    return signed_in(DeskApp(nosed, by="LD", clock=lambda: NOW))


@pytest.mark.slow
async def test_it_is_what_the_command_answers_and_a_swap_is_priced(
    nosed: Store, desk: DeskApp
) -> None:
    with nosed.read() as db:
        told = next_session(db, BEST_TWO.wanted, as_of=TODAY)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(NextPage(BEST_TWO))
        await settle(pilot)
        page = desk.screen
        assert isinstance(page, NextPage)
        rows = page.query_one(NextTable).rows
        assert [row.cask for row in rows] == [one.cask for one in told.found.casks]
        await check_pictures(pilot, "next-session")
        await press(pilot, "w")
        assert isinstance(desk.screen, ReadSlip)
        await press(pilot, "escape", "j")
        assert isinstance(desk.screen, PickPage)
        await press(pilot, "enter")
        assert page.answer is not None
        (swap,) = page.answer.swaps
        assert swap.out == rows[0].cask
        assert swap.into in {one.cask for one in page.answer.found.casks}
        assert f"{swap.into} in place of {swap.out}" in "\n".join(seen(desk))


@pytest.mark.slow
async def test_one_key_plans_what_was_proposed(nosed: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(NextPage(BEST_TWO))
        await settle(pilot)
        page = desk.screen
        assert isinstance(page, NextPage)
        assert page.answer is not None
        await press(pilot, "k")
        assert isinstance(desk.screen, PlanNextForm)
        await press(pilot, *"Monday", "ctrl+s", "y")
        assert isinstance(desk.screen, SessionPage)
    with nosed.read() as db:
        trays = planned_again(db, "Monday").trays
    pairs = {(who, sample) for who, samples in trays.items() for sample in samples}
    assert pairs == {(glass.assessor, glass.sample) for glass in page.answer.found.glasses}


@pytest.mark.slow
async def test_every_question_can_be_asked_from_the_first_page(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "full_stop", *"nose next", "enter")
        assert isinstance(desk.screen, NextChoicesPage)
        asked = [row.name for row in desk.screen.query_one(BigTable).rows]
        assert "Best casks: Fen" in asked
        assert "Ready when: Sallow plain for Fen" in asked
        await press(pilot, "enter")
        assert isinstance(desk.screen, NextPage)


async def test_what_would_change_is_told_of_a_target(nosed: Store, desk: DeskApp) -> None:
    with nosed.read() as db:
        target = target_record(db, "Fen")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(TargetPage(target))
        await settle(pilot)
        await pilot.app.run_action("screen.mind")
        await settle(pilot)
        assert isinstance(desk.screen, ReadSlip)
        assert "moves" in desk.screen.text or "hardly moves" in desk.screen.text


@pytest.mark.slow
async def test_power_is_asked_for_other_designs(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(PowerPage())
        await settle(pilot)
        page = desk.screen
        assert isinstance(page, PowerPage)
        assert page.found is not None
        assert {row.assessors for row in page.found.rows_of} == {4}
        await press(pilot, "j")
        assert isinstance(desk.screen, PowerForm)
        await press(pilot, *"3 9", "ctrl+s")
        assert {row.assessors for row in page.found.rows_of} == {3, 9}


@pytest.mark.slow
async def test_it_keeps_to_the_part_of_the_stock_that_is_asked_for(
    nosed: Store, desk: DeskApp
) -> None:
    with nosed.write() as db:
        parcel = list(db.scalars(select(Filling).order_by(Filling.label).limit(2)))
        for filling in parcel:
            filling.parcel = "east wing"
        casks = {filling.cask.number for filling in parcel}
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(NextPage(BEST_TWO))
        await settle(pilot)
        page = desk.screen
        assert isinstance(page, NextPage)
        await pilot.app.run_action("screen.part")
        await settle(pilot)
        assert isinstance(desk.screen, StockPartForm)
        await press(pilot, "tab", "tab", "tab", *"east wing", "ctrl+s")
        assert page.wanted.room.part == StockPart(parcel="east wing")
        assert {row.cask for row in page.query_one(NextTable).rows} <= casks
        assert "east wing" in "\n".join(seen(desk))
