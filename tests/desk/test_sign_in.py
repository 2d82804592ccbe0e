from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from textual.widgets import Input

from panel.clock import Clock
from panel.desk.app import DeskApp
from panel.desk.sessions import SessionsPage
from panel.desk.sign_in import SignIn
from panel.desk.window import SayLine
from panel.errors import NotAllowed, SignInRefused, SignInWaits
from panel.kinds import Role
from panel.records.people import set_pin
from panel.session.gate import let_in, read_gate
from panel.store.engine import Store
from panel.store.people import SignInGuard
from panel.store.who import people_with
from tests.conftest import FIXED_NOW
from tests.desk.driving import press, seen, settle

PIN = "271828"


def give_pin(store: Store, code: str) -> None:
    with store.write() as db:
        set_pin(db, code, PIN, now=FIXED_NOW, by=None)


async def test_without_any_pin_the_desk_opens_and_says_how_to_set_one(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert isinstance(desk.screen, SessionsPage)
        assert "5 People, LD, Give a PIN" in "\n".join(seen(desk))


async def test_with_a_pin_the_desk_asks_and_lets_in(house: Store, clock: Clock) -> None:
    give_pin(house, "LD")
    desk = DeskApp(house, clock=clock)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert isinstance(desk.screen, SignIn)
        foot = next(line for line in seen(desk) if "esc leave" in line.lower())
        assert "all" not in foot.split(), "the list of all is not reached from here"
        for arrow, field in (("up", "code"), ("down", "pin"), ("down", "code"), ("up", "pin")):
            await press(pilot, arrow)
            assert desk.focused is desk.screen.query_one(f"#{field}"), "the arrows walk the fields"
        await press(pilot, *"9999", "enter")
        assert isinstance(desk.screen, SignIn)
        assert "do not go together" in desk.screen.query_one(SayLine).said
        assert desk.screen.query_one("#pin", Input).value == ""
        await press(pilot, *PIN, "enter")
        assert isinstance(desk.screen, SessionsPage)
        assert desk.by == "LD"


async def test_numbers_lead_nowhere_before_the_door_is_passed(house: Store, clock: Clock) -> None:
    give_pin(house, "LD")
    desk = DeskApp(house, clock=clock)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.action_go("casks")
        await settle(pilot)
        assert isinstance(desk.screen, SignIn)


def test_five_wrong_pins_wait_even_for_the_right_one(house: Store, fixed_now: datetime) -> None:
    give_pin(house, "LD")
    for _ in range(4):
        with pytest.raises(SignInRefused):
            let_in(house, "LD", "000000", now=fixed_now)
    with pytest.raises(SignInWaits, match="60 s to go"):
        let_in(house, "LD", "000000", now=fixed_now)
    with pytest.raises(SignInWaits):
        let_in(house, "LD", PIN, now=fixed_now)
    let_in(house, "LD", PIN, now=fixed_now + timedelta(seconds=61))
    with pytest.raises(SignInRefused):
        let_in(house, "LD", "000000", now=fixed_now + timedelta(seconds=62))


def test_an_assessor_does_not_come_in(house: Store, fixed_now: datetime) -> None:
    with pytest.raises(NotAllowed, match="does not have the role 'lead'"):
        let_in(house, "AB", "", now=fixed_now)
    give_pin(house, "LD")
    give_pin(house, "AB")
    with pytest.raises(NotAllowed, match="does not have the role 'lead'"):
        let_in(house, "AB", PIN, now=fixed_now)


def test_the_only_lead_is_who_acts(house: Store) -> None:
    gate = read_gate(house, None, now=FIXED_NOW)
    assert gate.by == "LD"
    assert not gate.asks
    with house.read() as db:
        assert [person.code for person in people_with(db, Role.LEAD)] == ["LD"]


async def test_an_empty_pin_is_asked_for_and_counts_as_no_try(house: Store, clock: Clock) -> None:
    give_pin(house, "LD")
    desk = DeskApp(house, clock=clock)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "enter")
        assert isinstance(desk.screen, SignIn)
        assert "Type the PIN" in desk.screen.query_one(SayLine).said
        with house.read() as db:
            assert db.query(SignInGuard).all() == []
