"""The same on a server: a change, a call, an answer and a booth that waits, by another hand."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from panel.booth.app import BoothApp
from panel.booth.between import BetweenScreen
from panel.booth.hands import press as press_at_booth
from panel.booth.hands import said, until
from panel.clock import Clock
from panel.desk.app import DeskApp
from panel.kinds import SessionStatus
from panel.store.engine import Store
from panel.store.opening import open_store
from panel.store.sessions import LeadCall
from tests.booth.sitting import set_stage
from tests.desk.driving import press, seen, settle, signed_in
from tests.desk.test_following import call_in
from tests.houses.at_the_booth import PINS, Wall, open_evening
from tests.houses.at_the_desk import build
from tests.houses.held_at_the_desk import hold
from tests.houses.parts import descriptor


async def test_changes_and_calls_on_a_server_are_there_without_a_key(
    postgres_store: Store, clock: Clock
) -> None:
    build(postgres_store)
    hold(postgres_store, "open")
    elsewhere = open_store(postgres_store.url.render_as_string(hide_password=False))
    desk = signed_in(DeskApp(postgres_store, by="LD", clock=clock))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "4")
        with elsewhere.write() as db:
            db.add(descriptor("coal smoke"))
        call_in(elsewhere)
        desk.look()
        await settle(pilot)
        assert "coal smoke" in "\n".join(seen(desk))
        assert "CALL 18:00 " in seen(desk)[0]
        await press(pilot, "a")
        assert "CALL" not in seen(desk)[0]
        with elsewhere.read() as db:
            assert [call.answered_at is not None for call in db.scalars(select(LeadCall))] == [True]
    elsewhere.close()


async def test_a_booth_on_a_server_waits_for_its_session(
    postgres_store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("panel.booth.app.WAIT_S", 0.02)
    open_evening(postgres_store)
    set_stage(postgres_store, SessionStatus.SEALED)
    app = BoothApp(postgres_store, clock=Wall())
    async with app.run_test(size=(80, 24)):
        await until(app, lambda: "This booth waits" in said(app))
        set_stage(postgres_store, SessionStatus.OPEN)
        await until(app, lambda: "The session is open" in said(app))
        press_at_booth(app, *"A1", "enter", *PINS["A1"], "enter")
        await until(app, lambda: isinstance(app.screen, BetweenScreen))
