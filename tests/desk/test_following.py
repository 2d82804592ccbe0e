"""The desk follows the log: what others change is there without a key, calls on every page."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select
from textual.app import ScreenStackError

from panel.desk import following
from panel.desk.ageing_page import AgeingPage
from panel.desk.app import DeskApp
from panel.desk.homes import page_of
from panel.desk.page import CHANGED, Follows
from panel.kinds import CallReason
from panel.session.calls import answer_call
from panel.session.watching import BOOTH_DEEDS, look
from panel.store import booth_queries, booth_seat, booth_words
from panel.store.engine import Store
from panel.store.lexicon import Descriptor
from panel.store.log import append_entry
from panel.store.people import Person
from panel.store.sessions import LeadCall, PanelSession, Score, Serving
from tests.desk.driving import press, seen, settle
from tests.desk.kept_pictures import check_picture
from tests.houses.held_at_the_desk import NOW, half_way, hold
from tests.houses.parts import descriptor


def call_in(house: Store) -> int:
    """Let the first glass's assessor call."""
    with house.write() as db:
        glass = db.scalars(select(Serving)).first()
        assert glass is not None
        call = LeadCall(
            session_id=glass.session_id,
            person_id=glass.person_id,
            serving_id=glass.id,
            reason=CallReason.SPILLED,
            called_at=NOW,
        )
        db.add(call)
        db.flush()
        append_entry(db, at=NOW, by="AB", action="lead called", details={})
        return call.id


def answered(house: Store) -> list[bool]:
    with house.read() as db:
        return [call.answered_at is not None for call in db.scalars(select(LeadCall))]


def test_every_deed_of_a_booth_is_known_as_one() -> None:
    """Else each score that is kept would have every list read again."""
    said: set[str] = set()
    for module in (booth_queries, booth_seat, booth_words):
        text = Path(str(module.__file__)).read_text(encoding="utf-8")
        said |= set(re.findall(r'(?:now|finished_at), "([a-z ]+)"', text))
        said |= set(re.findall(r'action ?= ?"([a-z ]+)"', text))
    assert len(said) > 10
    assert said <= BOOTH_DEEDS
    assert BOOTH_DEEDS - said <= {"fault mark taken off"}  # chosen beside another one


def test_nothing_is_read_where_nothing_has_changed(house: Store) -> None:
    with house.read() as db:
        first = look(db)
        again = look(db, first)
    assert (first.changed, again.changed) == (True, False)
    with house.write() as db:
        append_entry(db, at=NOW, by="AB", action="scores kept", details={})
    with house.read() as db:
        scored = look(db, first, by="LD")
    assert (scored.changed, scored.records, scored.others) == (True, False, False)
    with house.write() as db:
        append_entry(db, at=NOW, by="LD", action="glass marked", details={})
    with house.read() as db:
        mine = look(db, scored, by="LD")
    assert (mine.changed, mine.records, mine.others) == (True, True, False)


async def test_a_list_shows_what_somebody_else_has_added(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "4")
        assert "coal smoke" not in "\n".join(seen(desk))
        with house.write() as db:
            db.add(descriptor("coal smoke"))
        desk.look()
        await settle(pilot)
        assert "coal smoke" in "\n".join(seen(desk))
        with house.read() as db:
            assert db.scalars(select(Descriptor.name)).all()


async def test_what_takes_a_reckoning_says_that_it_is_old(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "y")
        assert isinstance(desk.screen, AgeingPage)
        assert desk.screen.FOLLOWS is Follows.WHEN_ASKED
        with house.write() as db:
            append_entry(db, at=NOW, by="PQ", action="cask changed", details={})
        desk.look()
        await settle(pilot)
        assert CHANGED in "\n".join(seen(desk))


@pytest.mark.slow
async def test_a_call_stands_on_every_page_until_it_is_answered(
    house: Store, desk: DeskApp
) -> None:
    hold(house, "open")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "4")
        call_in(house)
        desk.look()
        await settle(pilot)
        for place in ("4", "2", "1", "enter"):
            await press(pilot, place)
            assert "CALL 18:00 " in seen(desk)[0]
            assert ": spilled" in seen(desk)[0]
            assert "a answers" in seen(desk)[0]
        check_picture("call", (80, 24), seen(desk))
        await press(pilot, "2", "a")
        assert "CALL" not in seen(desk)[0]
        assert answered(house) == [True]
        await press(pilot, "u")
        assert answered(house) == [False]
        assert "CALL 18:00 " in seen(desk)[0]
        await press(pilot, "1", "a", "u", "a")
        assert answered(house) == [True]


async def test_of_a_call_that_somebody_else_has_answered_it_is_said(
    house: Store, desk: DeskApp
) -> None:
    hold(house, "open")
    number = call_in(house)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        with house.write() as db:
            answer_call(db, number, now=NOW, by="LD")
        desk.answer(desk.calls[0])
        await settle(pilot)
        assert "was answered at 18:00" in "\n".join(seen(desk))


async def test_the_bell_rings_only_where_it_is_wanted(
    house: Store, desk: DeskApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    rung: list[bool] = []
    monkeypatch.setattr(following.Following, "bell", lambda _self: rung.append(True))
    hold(house, "open")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        call_in(house)
        desk.look()
        await settle(pilot)
        assert rung == []
        await desk.run_action("turn_bell")
        call_in(house)
        desk.look()
        await settle(pilot)
        assert rung == [True]


@pytest.mark.slow
async def test_minutes_since_the_last_score_stand_at_the_seat_while_it_is_open(
    house: Store, desk: DeskApp
) -> None:
    hold(house, "open")
    half_way(house)
    with house.write() as db:
        for score in db.scalars(select(Score)):
            score.given_at = NOW - timedelta(minutes=7)
        code = db.scalars(select(Person.code).join(Serving).join(Score)).first()
    async with desk.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        line = next(each for each in seen(desk) if each.startswith(f" {code} "))
        assert line.split()[:2] == [code, "7"]
        assert "Who  min" in "\n".join(seen(desk))
        await press(pilot, "c", "y")
        assert "Who  min" not in "\n".join(seen(desk))
        with house.read() as db:
            assert db.scalars(select(PanelSession.closed_at)).one() is not None


def _no_screen(_desk: DeskApp) -> None:
    raise ScreenStackError("No screens on stack")


async def test_news_between_two_places_stops_nothing(
    desk: DeskApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        looked = desk.looked
        assert looked is not None
        with monkeypatch.context() as patch:
            patch.setattr(DeskApp, "screen_stack", property(lambda _self: []))
            patch.setattr(DeskApp, "screen", property(_no_screen))
            desk.on_following_saw(desk.Saw(looked))
        assert desk.in_front() is desk.screen


async def test_news_for_a_page_that_is_only_being_opened_waits_for_it(
    desk: DeskApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    said: list[str] = []
    say = AgeingPage.say

    def noted(page: AgeingPage, message: str, *, trouble: bool = False) -> None:
        say(page, message, trouble=trouble)
        said.append(message)

    monkeypatch.setattr(AgeingPage, "say", noted)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert desk.looked is not None
        desk.push_screen(page_of("ageing"))
        desk.on_following_saw(desk.Saw(replace(desk.looked, others=True)))
        await settle(pilot)
        assert CHANGED in said
