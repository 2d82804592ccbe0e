"""A trace by touch in a real browser: its own clock, and a line that is gone for a while."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from panel.seat.arriving import session_of_booths
from panel.serve.door import make_door
from panel.serve.served import Served
from panel.store.engine import Store
from tests.houses.at_the_booth import NAME, Wall
from tests.houses.traced import kept_trace, open_traces
from tests.report.test_browser import MEASURED, PALE, browser
from tests.serve.touching import TARGETS, Running, tablet, wait_until_sent

__all__ = ["browser"]


@pytest.fixture
def running(store: Store) -> Iterator[Running]:
    open_traces(store)
    served = Served(store, session_of_booths(store, NAME), make_door("127.0.0.1", 0), Wall())
    here = Running(served)
    here.start()
    yield here
    here.stop()


@pytest.mark.parametrize("size", ["phone", pytest.param("tablet", marks=pytest.mark.slow)])
def test_answers_keep_their_seconds_while_the_line_is_gone(
    browser: Browser, running: Running, store: Store, size: str
) -> None:
    with tablet(browser, size) as context:
        context.clock.install()
        page = running.seat(context)
        page.fill("#code", "538")
        page.tap("#take button")
        expect(page.locator("#prompt-1")).to_be_visible()
        assert page.evaluate(TARGETS)[0] == []
        assert page.evaluate(MEASURED) == []
        assert page.evaluate(PALE)[0] == []
        page.tap("#p-2-5")
        expect(page.locator("#said")).to_contain_text("Sip, and answer at the same moment")
        page.tap("#p-1-1")
        expect(page.locator("#prompt-1")).to_contain_text("0 s 1, kept")
        page.tap("#p-2-5")
        expect(page.locator("#said")).to_contain_text("5 s is not there yet")
        context.clock.run_for(5200)
        expect(page.locator("#clock")).to_contain_text("5 s: how much orchard fruit now?")
        context.set_offline(True)
        page.tap("#p-2-8")
        context.clock.run_for(6000)
        expect(page.locator("#clock")).to_contain_text("Spit now.")
        page.keyboard.press("7")
        context.clock.run_for(1000)
        expect(page.locator("#unsent li")).to_have_count(2)
        assert set(kept_trace(store, "A1", "538")) == {1, 101}
        context.clock.run_for(20_000)
        context.set_offline(False)
        context.clock.run_for(5000)
        expect(page.locator("#prompt-3")).to_contain_text("10 s 7, kept")
        wait_until_sent(page)
    found = kept_trace(store, "A1", "538")
    assert {n: found[n] for n in (1, 2, 3)} == {1: 1, 2: 8, 3: 7}
    assert found[101] == 0
    assert 5 <= found[102] < 8
    assert 11 <= found[103] < 16
