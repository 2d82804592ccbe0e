"""The same on a server: a change, a call, an answer and a booth that waits, by another hand."""

from __future__ import annotations

import pytest
from sqlalchemy import select, text

from panel.booth.app import BoothApp
from panel.booth.between import BetweenScreen
from panel.booth.hands import press as press_at_booth
from panel.booth.hands import said, until
from panel.clock import Clock
from panel.desk.app import DeskApp
from panel.desk.listener import DEAF_AFTER, UNTOLD_LOOKS
from panel.kinds import SessionStatus
from panel.store.engine import Store
from panel.store.notices import LISTEN
from panel.store.opening import open_store
from panel.store.sessions import LeadCall
from tests.booth.sitting import set_stage
from tests.desk.driving import press, seen, settle, signed_in, until_so
from tests.desk.test_following import call_in
from tests.houses.at_the_booth import PINS, Wall, open_evening
from tests.houses.at_the_desk import build
from tests.houses.held_at_the_desk import hold
from tests.houses.parts import descriptor

NEVER_S = 1e6


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


@pytest.mark.slow
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


def listening(desk: DeskApp) -> list[int]:
    """Return which of the server's connections listen for the desk."""
    with desk.store.read() as db:
        asked = "SELECT pid FROM pg_stat_activity WHERE query = :listens"
        return list(db.scalars(text(asked), {"listens": LISTEN}))


async def test_a_server_tells_of_a_change_and_nobody_asks(
    postgres_store: Store, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("panel.desk.following.LOOK_S", NEVER_S)
    build(postgres_store)
    desk = signed_in(DeskApp(postgres_store, by="LD", clock=clock, start="lexicon"))
    async with desk.run_test(size=(80, 24)) as pilot:
        await until_so(desk, lambda: desk.line is not None)
        await settle(pilot)
        desk.quiet_for = 1  # as after the first turn
        with postgres_store.write() as db:
            db.add(descriptor("coal smoke"))
        await until_so(desk, lambda: "coal smoke" in "\n".join(seen(desk)))
        assert len(listening(desk)) == 1
        with postgres_store.write() as db:
            db.add(descriptor("wet slate"))
        await until_so(desk, lambda: desk.told)
        assert "wet slate" not in "\n".join(seen(desk))  # not twice in one turn
        desk.look_in_turn()
        await until_so(desk, lambda: "wet slate" in "\n".join(seen(desk)))
    assert desk.line is None


@pytest.mark.slow
async def test_a_line_that_is_lost_is_called_up_again(
    postgres_store: Store, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("panel.desk.following.LOOK_S", NEVER_S)
    build(postgres_store)
    desk = signed_in(DeskApp(postgres_store, by="LD", clock=clock, start="lexicon"))
    async with desk.run_test(size=(80, 24)) as pilot:
        await until_so(desk, lambda: desk.line is not None)
        await settle(pilot)
        [first] = listening(desk)
        with postgres_store.write() as db:
            db.execute(text("SELECT pg_terminate_backend(:pid)"), {"pid": first})
        await until_so(desk, lambda: desk.line is None)
        with postgres_store.write() as db:
            db.add(descriptor("coal smoke"))
        desk.look_in_turn()
        await until_so(desk, lambda: "coal smoke" in "\n".join(seen(desk)))
        await until_so(desk, lambda: desk.line is not None)
        await settle(pilot)
        assert listening(desk) not in ([], [first])


@pytest.mark.slow
async def test_where_no_notice_ever_comes_the_server_is_asked_again(
    postgres_store: Store, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("panel.desk.following.LOOK_S", NEVER_S)
    monkeypatch.setattr("panel.store.log.tell_listeners", lambda _connection: None)
    build(postgres_store)
    desk = signed_in(DeskApp(postgres_store, by="LD", clock=clock, start="lexicon"))
    async with desk.run_test(size=(80, 24)) as pilot:
        await until_so(desk, lambda: desk.line is not None)
        for number in range(DEAF_AFTER):
            await settle(pilot)
            assert not desk.deaf
            with postgres_store.write() as db:
                db.add(descriptor(f"word {number}"))
            desk.quiet_for = UNTOLD_LOOKS
            desk.look_in_turn()
        await until_so(desk, lambda: desk.deaf)
        assert desk.line is None
