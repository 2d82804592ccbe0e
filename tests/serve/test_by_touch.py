"""A whole session of each kind by touch, in a tablet and a phone: every page is measured."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Browser, Page, expect

from panel.seat.arriving import session_of_booths
from panel.serve.door import make_door
from panel.serve.served import Served
from panel.store.engine import Store
from tests.houses.at_the_booth import CODES, NAME, WORDS, Wall, kept_scores, open_evening
from tests.houses.own_words_at_the_booth import open_own_words, own_scores
from tests.report.test_browser import MEASURED, browser
from tests.serve.touching import SIZES, TARGETS, Running, shown, tablet, take, touch

__all__ = ["browser"]
OWN = ("tar rope", "plum", "hay")
pytestmark = pytest.mark.slow


def measured(page: Page) -> list[str]:
    """Return what is wrong with the boxes of a page, every question on it unfolded."""
    for summary in page.locator("details > summary").all():
        summary.tap()
    found = page.evaluate(f"() => [...({TARGETS})()[0], ...({MEASURED})()]")
    for summary in page.locator("details > summary").all():
        summary.tap()
    return list(found)


def nose(page: Page, code: str, lines: int) -> tuple[list[str], list[int]]:
    """Take a glass, score it by touch and put it down; return its faults of layout, its scores."""
    take(page, code)
    for line in range(lines):
        touch(page, line, 0.2 + 0.06 * line)
    expect(page.locator(".kept", has_text="kept 18:")).to_have_count(lines)
    found = measured(page)
    scores = [int(shown(page, line)) for line in range(lines)]
    page.tap("#down button")
    expect(page.locator("#said")).to_have_text(f"{code} is put down, with everything kept.")
    return found, scores


def hold(
    browser: Browser,
    store: Store,
    wall: Wall,
    size: str,
    lines: int,
    begin: Callable[[Page], list[str]],
) -> tuple[list[str], dict[str, list[int]], list[str]]:
    """Go through a session; return faults of layout, scores by glass, and what the browser said."""
    served = Served(store, session_of_booths(store, NAME), make_door("127.0.0.1", 0), wall)
    running = Running(served)
    running.start()
    scores: dict[str, list[int]] = {}
    try:
        with tablet(browser, size) as context:
            page = running.arrive(context)
            found = begin(page)
            for code in CODES:
                wrong, scores[code] = nose(page, code, lines)
                found += [*wrong, *measured(page)]
            expect(page.locator("#asked")).to_contain_text("All your glasses are done.")
    finally:
        running.stop()
    return found, scores, running.console


@pytest.mark.parametrize("size", SIZES)
def test_on_the_lexicon(browser: Browser, store: Store, wall: Wall, size: str) -> None:
    open_evening(store, pause_s=0)

    def begin(page: Page) -> list[str]:
        page.wait_for_selector("#take")
        return measured(page)

    found, scores, said = hold(browser, store, wall, size, len(WORDS), begin)
    assert (found, said) == ([], [])
    for code in CODES:
        assert list(kept_scores(store, "A1", code).values()) == scores[code]


@pytest.mark.parametrize("size", SIZES)
def test_in_own_words(browser: Browser, store: Store, wall: Wall, size: str) -> None:
    open_own_words(store)

    def begin(page: Page) -> list[str]:
        page.wait_for_selector("#word")
        for place, word in enumerate(OWN, start=1):
            page.fill("#word", word)
            page.tap("#name button")
            expect(page.locator(".words li")).to_have_count(place)
        found = measured(page)
        page.tap("text=To the glasses")
        page.wait_for_selector("#take")
        return found

    found, scores, said = hold(browser, store, wall, size, len(OWN), begin)
    assert (found, said) == ([], [])
    for code in CODES:
        assert list(own_scores(store, "A1", code).values()) == scores[code]
