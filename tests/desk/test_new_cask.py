"""New casks, makes and re-rackings of several fillings, as `load` would have taken them."""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import select

from panel.desk.app import DeskApp
from panel.desk.cask_forms import EventForm
from panel.desk.cask_page import CaskPage
from panel.desk.casks import CasksPage
from panel.desk.new_cask import CaskForm, MakeForm
from panel.desk.pick import PickPage
from panel.kinds import EventKind
from panel.store.casks import Cask, Filling, FillingEvent, Make
from panel.store.engine import Store
from tests.desk.driving import press, settle
from tests.desk.test_forms import fault_beside


def put(form: CaskForm | MakeForm | EventForm, **values: str) -> None:
    for line in form.lines:
        if line.field.name in values:
            line.entry.value = values[line.field.name]


@pytest.mark.slow
async def test_a_new_cask_is_filled_with_a_make_from_the_list(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "n")
        form = desk.screen
        assert isinstance(form, CaskForm)
        told = {"cask": "SW77", "wood": "oak butt", "size_l": "500", "filled_on": "2025-05-01"}
        put(form, **told, fill_number="1", fill_abv="63.5", fill_bulk_l="480")
        form.lines[7].entry.focus()
        await press(pilot, "enter")
        assert isinstance(desk.screen, PickPage)
        await press(pilot, "down", "enter", "ctrl+s")
        assert isinstance(desk.screen, CasksPage)
    with house.read() as db:
        filling = db.scalars(select(Filling).where(Filling.label == "SW77/1")).one()
        assert filling.make is not None
        assert (filling.make.name, filling.fill_bulk_l) == ("Peat Weir", 480.0)
        assert (filling.cask.wood, filling.filled_on) == ("oak butt", date(2025, 5, 1))


@pytest.mark.slow
async def test_a_cask_that_is_known_is_not_made_another(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "n")
        form = desk.screen
        assert isinstance(form, CaskForm)
        put(form, cask="SW10", wood="oak butt", size_l="500")
        await press(pilot, "ctrl+s")
        assert "already" in fault_beside(desk, "cask")
        assert "chestnut butt" in fault_beside(desk, "wood")
    with house.read() as db:
        assert db.scalars(select(Cask.wood).where(Cask.number == "SW10")).one() == "chestnut butt"


async def test_an_empty_cask_is_filled_anew(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(CaskPage("SW10"))
        await settle(pilot)
        await desk.run_action("fill", desk.screen)
        await settle(pilot)
        form = desk.screen
        assert isinstance(form, CaskForm)
        put(form, filled_on="2025-05-01", fill_number="1", fill_abv="60", fill_bulk_l="450")
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, CaskPage)
    with house.read() as db:
        filling = db.scalars(select(Filling).where(Filling.label == "SW10/1")).one()
        assert filling.cask.wood == "chestnut butt"


@pytest.mark.slow
async def test_a_new_make(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        for phenols, name in (("smoky", "Low Weir"), ("12", "Fen")):
            await desk.run_action("make", desk.screen)
            await settle(pilot)
            form = desk.screen
            assert isinstance(form, MakeForm)
            put(form, make=name, site="Sallow", cereal="barley", phenol_ppm=phenols)
            await press(pilot, "ctrl+s")
            if name == "Low Weir":
                assert "already" in fault_beside(desk, "make")
                assert fault_beside(desk, "phenol_ppm").startswith("!")
                await press(pilot, "escape", "escape")
    with house.read() as db:
        assert db.scalars(select(Make.phenol_ppm).where(Make.name == "Fen")).one() == 12.0


@pytest.mark.slow
async def test_a_marriage_of_two_fillings_is_a_row_each(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(CaskForm())
        await settle(pilot)
        form = desk.screen
        assert isinstance(form, CaskForm)
        told = {"cask": "M1", "wood": "oak butt", "size_l": "500", "filled_on": "2025-06-01"}
        put(form, **told, fill_number="2", fill_abv="60", fill_bulk_l="100")
        await press(pilot, "ctrl+s")
        desk.push_screen(EventForm({"filling": "M1/1"}))
        await settle(pilot)
        event = desk.screen
        assert isinstance(event, EventForm)
        put(event, kind="re-racked", happened_on="2025-06-01", parent="SW3/1\nSW4/1", litres="60")
        await press(pilot, "ctrl+s")
        assert fault_beside(desk, "litres").startswith("!")
        put(event, litres="60; 40")
        await press(pilot, "ctrl+s")
        assert event is not desk.screen
    with house.read() as db:
        racked = db.scalars(
            select(FillingEvent).where(FillingEvent.kind == EventKind.RE_RACKED)
        ).all()
        given = {each.parent.label: each.litres for each in racked if each.parent}
        assert given == {"SW3/1": 60.0, "SW4/1": 40.0}
