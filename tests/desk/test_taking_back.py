"""A hold is taken back by who wrote it, for ten minutes, unless somebody has changed it since."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import func, select

from panel.desk.app import DeskApp
from panel.desk.cask_page import CaskPage
from panel.intake.loading import add_record
from panel.kinds import Role
from panel.records.casks import hold_filling
from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.log import LogEntry
from tests.desk.driving import press, seen, settle
from tests.houses.parts import person


def stands(house: Store) -> tuple[str | None, int]:
    with house.read() as db:
        reason = db.scalars(select(Filling.hold_reason).where(Filling.label == "SW1/1")).one()
        return reason, db.scalar(select(func.count(LogEntry.id))) or 0


@pytest.mark.slow
async def test_a_hold_is_taken_back_by_an_entry_more(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "enter", "u")
        assert isinstance(desk.screen, CaskPage)
        assert stands(house)[0] is None
        await press(pilot, "h", *"musty", "ctrl+s")
        reason, entries = stands(house)
        assert reason == "musty"
        await press(pilot, "u")
        assert stands(house) == (None, entries + 1)
        assert "The hold of SW1/1 is taken back." in "\n".join(seen(desk))
        await press(pilot, "u")
        assert stands(house) == (None, entries + 1)


async def test_what_somebody_changed_since_stays(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "enter", "h", *"musty", "ctrl+s")
        hold_filling(house, "SW1/1", "mouldy", "", now=desk.now(), by="LD")
        await press(pilot, "u")
        assert stands(house)[0] == "mouldy"
        assert "changed by somebody since" in "\n".join(seen(desk))


@pytest.mark.slow
async def test_after_ten_minutes_or_by_another_it_stays(house: Store, desk: DeskApp) -> None:
    with house.write() as db:
        db.add(person("XL", Role.LEAD))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "enter", "h", *"musty", "ctrl+s")
        begun = desk.clock()
        desk.clock = lambda: begun + timedelta(minutes=11)
        await press(pilot, "u")
        assert stands(house)[0] == "musty"
        assert "ten minutes" in "\n".join(seen(desk))
        desk.clock = lambda: begun
        desk.by = "XL"
        await press(pilot, "u")
        assert stands(house)[0] == "musty"
        assert "written by LD" in "\n".join(seen(desk))


def row_of(cask: str, desk: DeskApp) -> str:
    return next(line for line in seen(desk) if cask in line)


@pytest.mark.slow
async def test_an_event_is_taken_back_from_the_list_and_says_when_nothing_is_left(
    house: Store, desk: DeskApp
) -> None:
    moved = {"filling": "SW1/1", "kind": "moved", "happened_on": "2026-03-13", "warehouse": "9"}
    assert add_record(house, "events", moved, now=desk.now(), by="LD").written
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        assert " 9 " in row_of("SW1 ", desk)
        await press(pilot, "u")
        assert "SW1/1, moved on 2026-03-13, is taken back." in "\n".join(seen(desk))
        assert " 9 " not in row_of("SW1 ", desk)
        await press(pilot, "u")
        assert "Nothing was written of cask SW1" in " ".join(" ".join(seen(desk)).split())
        await press(pilot, "enter")
        assert "taken back" in "\n".join(seen(desk))
