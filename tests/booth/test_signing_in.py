from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from panel.booth.between import BetweenScreen
from panel.booth.sign_in import SignInScreen
from panel.errors import NoDatabase
from panel.kinds import SessionStatus
from panel.store.engine import Store
from panel.store.opening import open_store
from tests.booth.sitting import (
    BoothApp,
    booth,
    drained,
    keys,
    press,
    rows,
    said,
    seated,
    set_stage,
    settled,
    text,
    until,
)
from tests.houses.at_the_booth import NAME, PINS, Wall


async def test_code_and_pin_lead_to_the_tray(evening: Store, wall: Wall) -> None:
    async with seated(evening, wall) as app:
        assert isinstance(app.screen, BetweenScreen)
        assert rows(app)[0].split() == ["Oakpanel", "booth", NAME, "A1"]


async def test_what_ends_other_programs_says_how_the_booth_is_left(
    evening: Store, wall: Wall
) -> None:
    async with booth(evening, wall) as app:
        await settled(app)
        await app.run_action("help_quit")
        await settled(app)
        assert "ctrl+q closes the booth; all that is kept stays." in text(app)
        assert "Ctrl+Q leave" in rows(app)[-1]


async def test_a_pin_never_shows_not_even_when_typed_in_a_burst(evening: Store, wall: Wall) -> None:
    async with booth(evening, wall) as app:
        press(app, *"A1", "enter", *PINS["A1"])
        await settled(app)
        assert app.screen.query_one("#code", Input).value == "A1"
        assert app.screen.query_one("#pin", Input).value == PINS["A1"]
        assert PINS["A1"] not in text(app)


async def test_what_does_not_fit_is_not_told_apart(evening: Store, wall: Wall) -> None:
    async with booth(evening, wall) as app:
        answers = []
        for code, pin in (("A1", "1111"), ("nobody", PINS["A1"])):
            app.screen.query_one("#code", Input).value = ""
            app.screen.query_one("#code", Input).focus()
            await drained(app)
            await keys(app, *code, "enter", *pin, "enter")
            answers.append(said(app))
        assert answers[0] == answers[1]
        assert "do not go together" in answers[0]
        assert app.screen.query_one("#pin", Input).value == ""


async def test_after_five_wrong_pins_the_screen_says_how_long_to_wait(
    evening: Store, wall: Wall
) -> None:
    async with booth(evening, wall) as app:
        await keys(app, *"A1", "enter")
        for _ in range(5):
            await keys(app, *"1111", "enter")
        assert "60 s to go" in said(app)
        await keys(app, *PINS["A1"], "enter")
        assert "60 s to go" in said(app)
        wall.pass_s(60)
        await keys(app, *PINS["A1"], "enter")
        await until(app, lambda: isinstance(app.screen, BetweenScreen))


@pytest.mark.slow
async def test_a_session_that_is_not_open_says_so_and_lets_people_in_later(
    evening: Store, wall: Wall
) -> None:
    set_stage(evening, SessionStatus.SEALED)
    async with booth(evening, wall) as app:
        await keys(app, *"A1", "enter", *PINS["A1"], "enter")
        assert "is not open yet" in said(app)
        set_stage(evening, SessionStatus.OPEN)
        await keys(app, *PINS["A1"], "enter")
        await until(app, lambda: isinstance(app.screen, BetweenScreen))


async def test_who_is_faster_than_the_records_is_signed_in_when_they_are_open(
    evening: Store, wall: Wall
) -> None:
    app = BoothApp(evening, session=NAME, clock=wall)
    async with app.run_test(size=(80, 24)):
        press(app, *"A1", "enter", *PINS["A1"], "enter")
        await until(app, lambda: isinstance(app.screen, BetweenScreen))


@pytest.mark.slow
async def test_leaving_gives_the_booth_to_the_next_person(evening: Store, wall: Wall) -> None:
    async with seated(evening, wall) as app:
        await keys(app, "l")
        await until(app, lambda: isinstance(app.screen, SignInScreen))
        await settled(app)
        await keys(app, *"A2", "enter", *PINS["A2"], "enter")
        await until(app, lambda: isinstance(app.screen, BetweenScreen) and app.screen.ready)
        assert rows(app)[0].endswith("A2")


async def test_without_a_database_the_booth_closes_with_the_reason(tmp_path: Path) -> None:
    missing = str(tmp_path / "none.sqlite")
    app = BoothApp(lambda: open_store(missing))
    async with app.run_test() as pilot:
        await until(app, lambda: app.fault is not None)
        await pilot.pause()
    assert isinstance(app.fault, NoDatabase)
    assert app.return_code == 1


async def test_a_booth_opened_before_the_session_waits_and_holds_no_pin(
    evening: Store, wall: Wall, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("panel.booth.app.WAIT_S", 0.02)
    set_stage(evening, SessionStatus.SEALED)
    app = BoothApp(evening, clock=wall)
    async with app.run_test(size=(80, 24)):
        await until(app, lambda: "This booth waits" in said(app))
        press(app, *"A1", "enter", *PINS["A1"], "enter")
        await until(app, lambda: app.screen.query_one("#code", Input).value == "A1")
        await drained(app)
        assert app.screen.query_one("#pin", Input).value == ""
        assert "No session is open yet" in said(app)
        set_stage(evening, SessionStatus.OPEN)
        await until(app, lambda: "The session is open" in said(app))
        assert rows(app)[0].split() == ["Oakpanel", "booth", NAME]
        press(app, *PINS["A1"], "enter")
        await until(app, lambda: isinstance(app.screen, BetweenScreen))


@pytest.mark.slow
async def test_a_booth_of_no_session_takes_the_next_once_its_own_is_over(
    evening: Store, wall: Wall
) -> None:
    app = BoothApp(evening, clock=wall)
    async with app.run_test(size=(80, 24)):
        await until(app, lambda: app.records.are_open)
        press(app, *"A1", "enter", *PINS["A1"], "enter")
        await until(app, lambda: isinstance(app.screen, BetweenScreen) and app.screen.ready)
        set_stage(evening, SessionStatus.CLOSED)
        press(app, "l")
        await until(app, lambda: "This booth waits" in said(app))
        assert app.return_code is None


async def test_after_a_wrong_pin_the_cursor_stands_where_the_words_say(
    evening: Store, wall: Wall
) -> None:
    async with booth(evening, wall) as app:
        await keys(app, *"A1", "enter", *"1111", "enter")
        assert "Type the PIN again, or mend the code" in said(app)
        assert app.screen.focused is app.screen.query_one("#pin", Input)
        assert app.screen.query_one("#code", Input).value == "A1"


@pytest.mark.parametrize("call", ["booth_session", "sign_in"])
async def test_a_fault_of_our_own_before_anybody_sits_is_said(
    evening: Store, wall: Wall, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("out of order")

    monkeypatch.setattr(f"panel.store.booth_queries.{call}", broken)
    app = BoothApp(evening, session=NAME, clock=wall)
    async with app.run_test(size=(80, 24)) as pilot:
        if call == "booth_session":
            await until(app, lambda: app.fault is not None)
            await pilot.pause()
            assert "A fault of the booth's own" in str(app.fault)
            return
        await until(app, lambda: app.records.are_open)
        await keys(app, *"A1", "enter", *PINS["A1"], "enter")
        assert "A fault of the booth's own" in said(app)
