"""Seats at another site, by the forms of two desks."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from panel.clock import Clock
from panel.desk.app import DeskApp
from panel.desk.beginning import Beginning
from panel.desk.elsewhere_forms import (
    FirstPackForm,
    JoinForm,
    OpenPackForm,
    PackForm,
    RecallForm,
    ReturnForm,
    carried_page,
)
from panel.desk.form import FormPage
from panel.desk.new_pin_slip import NewPinSlip
from panel.desk.session_page import SessionPage
from panel.desk.slip import Confirm
from panel.desk.text_page import TextPage
from panel.session.elsewhere.sealed_file import read_pack
from panel.session.stages import close_session, open_session
from panel.store.engine import Store
from panel.store.opening import make_database, open_store
from tests.conftest import FIXED_NOW
from tests.desk.driving import press, seen, settle, signed_in
from tests.houses.held_at_the_desk import NAME, hold
from tests.houses.pins import PIN


async def fill(pilot: Pilot[None], form: FormPage, **values: str) -> None:
    """Put a form on the desk, type into it and keep it."""
    await pilot.app.push_screen(form)
    await settle(pilot)
    for name, value in values.items():
        line = form.line_of(name)
        assert line is not None
        line.entry.value = value
    await press(pilot, "ctrl+s")


def text(desk: DeskApp) -> str:
    return " ".join("\n".join(seen(desk)).split())


async def test_a_session_goes_to_another_site_and_comes_back_by_two_desks(
    house: Store, desk: DeskApp, clock: Clock, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    hold(house, "sealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await fill(pilot, PackForm(NAME), site="Mill", water="")
        assert "say which water" in text(desk)
        await press(pilot, "escape", "escape")
        await fill(pilot, PackForm(NAME), site="Mill", water="spring", file="m.pack")
        assert "is packed for Mill" in text(desk)
        assert "seats at Mill" in text(desk)
        page = desk.screen
        assert isinstance(page, SessionPage)
        page.action_away()
        await settle(pilot)
        assert isinstance(desk.screen, TextPage)
        assert "Mill: away" in text(desk)
    await _there(tmp_path, clock)
    with house.write() as db:
        open_session(db, NAME, now=FIXED_NOW, by="LD")
    again = signed_in(DeskApp(house, by="LD", clock=clock))
    async with again.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await fill(pilot, JoinForm(), file="b.return")
        assert "from Mill is joined" in text(again)
        await press(pilot, "escape")
        await fill(pilot, RecallForm(NAME), site="Mill", reason="late")
        assert isinstance(again.screen, Confirm)
        await press(pilot, "y")
        assert "cannot be called back" in text(again)
        await press(pilot, "escape", "escape")
        await again.push_screen(carried_page(house))
        await settle(pilot)
        assert "destroyed 0.0120" in text(again)


async def _there(tmp_path: Path, clock: Clock) -> None:
    path = tmp_path / "there.sqlite"
    begun = Beginning(lambda: make_database(str(path)), lambda: str(path), "demo", "LD leads.")
    there = DeskApp(lambda: open_store(str(path)), clock=clock, begun=begun)
    async with there.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        sent = read_pack(Path("m.pack")).body.sent_ml
        form = FirstPackForm(begun)
        await fill(pilot, form, file="m.pack", received=f"{sent:.0f}", lead="S1")
        assert isinstance(there.screen, NewPinSlip)
        await press(pilot, *PIN, "enter", *PIN, "enter")
        assert there.by == "S1"
        await fill(pilot, OpenPackForm(), file="m.pack", received="700")
        assert "opened here before" in text(there)
        await press(pilot, "escape", "escape", "escape")
        await there.push_screen(SessionPage(NAME))
        await settle(pilot)
        assert "came in a pack to Mill" in text(there)
        await press(pilot, "p", "y", *PIN, "enter")
        await settle(pilot)
        assert {file.suffix for file in tmp_path.glob("*labels*")} == {".txt", ".html"}
        assert list(tmp_path.glob("*carriage*"))
        assert not list(tmp_path.glob("*pour-sheet*"))
        for step in (open_session, close_session):
            with there.store.write() as db:
                step(db, NAME, now=FIXED_NOW, by="S1")
        await press(pilot, "escape")
        await fill(pilot, ReturnForm(NAME), destroyed="60", file="b.return")
        assert "on their way home" in text(there)
