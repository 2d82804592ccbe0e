"""A trace at every booth: each answer on disk with its second before it is called kept."""

from __future__ import annotations

import secrets
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest
from sqlalchemy import select

from panel.booth.aloud.booth import PlainBooth
from panel.booth.app import BoothApp
from panel.booth.hands import sign_in_by_keys
from panel.booth.traces import TraceScreen
from panel.seat.records import Records
from panel.store.engine import Store
from panel.store.sessions import SessionAssessor
from tests.booth.by_lines import Hand, Meanwhile
from tests.booth.sitting import keys, rows, said, settled, text, until
from tests.houses.at_the_booth import NAME, PINS, Wall
from tests.houses.traced import kept_trace, open_traces, stopwatch_of
from tests.serve.browsing import Browser, Read, served_for
from tests.serve.browsing import seated as seated_in_browser


@pytest.fixture
def wall() -> Wall:
    return Wall()


@pytest.fixture
def opened(store: Store) -> Store:
    open_traces(store)
    return store


@asynccontextmanager
async def at_glass(
    store: Store, wall: Wall, size: tuple[int, int] = (80, 24), typed: str = "538"
) -> AsyncIterator[BoothApp]:
    """Sign in at a booth whose seconds a test sets, and take up a glass."""
    app = BoothApp(store, session=NAME, clock=wall, seconds=stopwatch_of(wall))
    async with app.run_test(size=size):
        await until(app, lambda: app.records.are_open)
        await sign_in_by_keys(app, "A1", PINS["A1"])
        if typed:
            await keys(app, *typed, "enter")
        await until(app, lambda: isinstance(app.screen, TraceScreen) and app.screen.ready)
        yield app


# ---------------------------------------------------------------------- by keys


@pytest.mark.slow
async def test_each_second_is_answered_by_one_key(opened: Store, wall: Wall) -> None:
    async with at_glass(opened, wall) as app:
        assert "Ready? Sip, and answer at the same moment" in text(app)
        await keys(app, "1")
        assert said(app).startswith("0 s: 1, kept 18:00:00.") or said(app) == ""
        assert kept_trace(opened, "A1", "538") == {1: 1, 101: 0}
        await keys(app, "5")
        assert said(app) == "! Not yet: 5 s is asked for next."
        for second, key in ((5, "8"), (10.4, "7"), (20, "4"), (30, "2"), (46.5, "1")):
            wall.now = type(wall)().now
            wall.pass_s(second)
            await keys(app, key)
        assert "0 s 1   5 s 8   10 s 7   20 s 4   30 s 2   45 s 1   60 s -" in text(app)
        wall.now = type(wall)().now
        wall.pass_s(60)
        await keys(app, "0")
        await settled(app)
        assert not isinstance(app.screen, TraceScreen)
        assert "538 is put down, with everything kept." in said(app)
        assert "Pause: the next glass in 1:00" in text(app)
    found = kept_trace(opened, "A1", "538")
    assert [found[n] for n in range(1, 8)] == [1, 8, 7, 4, 2, 1, 0]
    assert [found[n] for n in range(101, 108)] == [0, 5, 10.4, 20, 30, 46.5, 60]


@pytest.mark.slow
async def test_a_late_answer_counts_where_it_came_and_the_next_is_asked(
    opened: Store, wall: Wall
) -> None:
    async with at_glass(opened, wall) as app:
        await keys(app, "0")
        wall.pass_s(13)
        await keys(app, "6")
        app.screen._show_moment()  # type: ignore[attr-defined]
        assert "10 s: how much orchard fruit now?" in text(app)
        assert "Spit now." in text(app)
        await keys(app, "7")
        assert said(app) == "10 s: 7, kept 18:00:13. It came at 13 s, and counts there."
        await keys(app, "9")
        assert said(app) == "! Not yet: 20 s is asked for next."
    assert kept_trace(opened, "A1", "538") == {1: 0, 101: 0, 2: 6, 102: 13, 3: 7, 103: 13}


async def test_a_minute_goes_on_after_a_booth_was_killed(opened: Store, wall: Wall) -> None:
    async with at_glass(opened, wall) as app:
        await keys(app, "0")
        wall.pass_s(5)
        await keys(app, "6")
    wall.pass_s(6)  # another booth, and no stopwatch that knows of the first
    async with at_glass(opened, wall, typed="") as app:
        assert "0 s 0   5 s 6   10 s -" in text(app)
        await keys(app, "7")
    assert kept_trace(opened, "A1", "538")[103] == 11


@pytest.mark.slow
async def test_a_glass_is_put_down_before_its_minute_is_over_on_a_second_key(
    opened: Store, wall: Wall
) -> None:
    async with at_glass(opened, wall) as app:
        await keys(app, "0")
        await keys(app, "p")
        assert said(app).startswith("! 1 of 7 seconds are answered")
        await keys(app, "p")
        assert not isinstance(app.screen, TraceScreen)


@pytest.mark.slow
@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_everything_of_a_trace_stands_on_the_screen(
    opened: Store, wall: Wall, size: tuple[int, int]
) -> None:
    async with at_glass(opened, wall, size) as app:
        await keys(app, "0")
        wall.pass_s(10)
        await keys(app, "3")
        app.screen._show_moment()  # type: ignore[attr-defined]
        shown = text(app)
        for part in ("Glass 1 of 2: 538.", "Spit now.", "10 s: how much", "5 s 3", "no reason"):
            assert part in shown
        assert all(len(row) <= size[0] for row in rows(app))


# ---------------------------------------------------------------------- by lines


def by_lines(store: Store, wall: Wall, *answers: str | Meanwhile) -> tuple[Hand, int]:
    """Sit at a plain booth whose seconds a test sets."""
    hand = Hand(["A1", PINS["A1"], *answers])
    records = Records(store, NAME, wall, stopwatch_of(wall))
    return hand, PlainBooth(records, hand).run()


def test_a_trace_by_lines_of_text(opened: Store, wall: Wall) -> None:
    def wait(seconds: float, then: str | None = None) -> Meanwhile:
        def passed() -> str | None:
            wall.pass_s(seconds)
            return then

        return passed

    hand, ended = by_lines(
        *(opened, wall, "538", "x", "0", wait(2, "4"), wait(3), wait(8, "6"), "7", wait(7)),
        *("4", wait(10), "2", wait(15), "1", wait(15), wait(41, "0")),
    )
    assert ended == 0
    assert "Ready? Sip, and answer at the same moment" in hand.text
    assert "Attention: Not yet: 5 s is asked for next." in hand.said
    assert "It came at 13 s, and counts there." in hand.text
    assert "Spit now." in hand.said
    assert "The minute is over: rinse with water." in hand.said
    found = kept_trace(opened, "A1", "538")
    assert [found[n] for n in range(1, 8)] == [0, 6, 7, 4, 2, 1, 0]
    assert [found[n] for n in range(101, 108)] == [0, 13, 13, 20, 30, 45, 100]


# ---------------------------------------------------------------------- in a browser


def at_second(browser: Browser, prompt: str, given: str, **more: str) -> Read:
    """Press the button of a second, as its form would send it."""
    form = browser.look().forms["prompt"]
    form.pop("ends")  # the form read last is that of the last second
    fields = {**form, "number": secrets.token_hex(16), "prompt": prompt, "given": given, **more}
    return browser.post("/deed", fields)


@pytest.mark.slow
def test_a_trace_in_a_browser(opened: Store, wall: Wall) -> None:
    with seated_in_browser(served_for(opened, wall)) as browser:
        browser.deed("take", code="538", sure="538")
        page = browser.look()
        assert page.body["data-about"] == "glass 538.1"
        assert at_second(browser, "3", "4").said.endswith("answer that one first.")
        at_second(browser, "1", "0")
        wall.pass_s(5.5)
        page = at_second(browser, "2", "6")
        assert page.said.startswith("5 s: 6, kept 18:00:05.")
        # Held in the browser while the line was down, and sent with its own second.
        wall.pass_s(60)
        number = "5f" * 16
        for _ in range(2):
            at_second(browser, "3", "7", at_s="10.20", number=number)
        page = at_second(browser, "7", "2", at_s="60.5", ends="yes")
        assert page.body["data-about"].startswith("between")
        assert browser.deed("take", code="538", sure="538").said
    assert kept_trace(opened, "A1", "538") == {
        **{1: 0, 101: 0, 2: 6, 102: 5.5, 3: 7, 103: 10.2, 7: 2, 107: 60.5}
    }


def test_an_answer_that_is_none_is_refused_in_a_browser(opened: Store, wall: Wall) -> None:
    with seated_in_browser(served_for(opened, wall)) as browser:
        browser.deed("take", code="538", sure="538")
        for wrong in ({"given": "10"}, {"given": "x"}, {"at_s": "soon"}, {"prompt": "8"}):
            at_second(browser, **{"prompt": "1", "given": "4", **wrong})
        assert kept_trace(opened, "A1", "538") == {}


@pytest.mark.slow
def test_who_traced_all_glasses_is_done(opened: Store, wall: Wall) -> None:
    with seated_in_browser(served_for(opened, wall)) as browser:
        for code in ("538", "417"):
            browser.deed("take", code=code, sure=code)
            at_second(browser, "1", "0", ends="yes")
            wall.pass_s(300)
    with opened.read() as db:
        chair = db.scalars(select(SessionAssessor).order_by(SessionAssessor.seat)).first()
        assert chair is not None
        assert chair.finished_at is not None
