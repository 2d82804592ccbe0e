"""A whole session of each kind by touch, in a tablet and a phone: every page is measured."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Browser, Page, expect
from sqlalchemy import select

from panel.kinds import Fault, SessionKind, SessionStatus
from panel.seat.arriving import session_of_booths
from panel.serve.door import make_door
from panel.serve.served import Served
from panel.store.answers import Answer
from panel.store.engine import Store
from panel.store.sessions import Serving
from tests.booth.sitting import set_stage
from tests.houses.at_the_booth import CODES, NAME, WORDS, Wall, kept_scores, open_evening
from tests.houses.by_stages import open_stages
from tests.houses.own_words_at_the_booth import open_own_words, own_scores
from tests.houses.sets_at_the_booth import OF_ONE, SET_CODES, kept_places, open_sets
from tests.houses.to_pass import open_to_pass, verdicts
from tests.report.test_browser import MEASURED, browser
from tests.serve.touching import SIZES, TARGETS, Running, shown, tablet, take, touch

__all__ = ["browser"]
NASTY = "</textarea><script>alert(1)</script><img src=x onerror=alert(2)>"
OWN = ("tar rope", "plum", "hay")
pytestmark = pytest.mark.slow


def measured(page: Page, size: str) -> list[str]:
    """Return what is wrong with the boxes of a page, every question on it unfolded.

    At twice the size of everything a page is as wide as at half the window.
    """
    for summary in page.locator("details > summary").all():
        summary.tap()
    found = []
    for times in (1, 2):
        width, height = SIZES[size]
        page.set_viewport_size({"width": width // times, "height": height // times})
        told = page.evaluate(f"() => [...({TARGETS})()[0], ...({MEASURED})()]")
        found += [f"{times} times: {each}" for each in told]
    page.set_viewport_size({"width": width, "height": height})
    for summary in page.locator("details > summary").all():
        summary.tap()
    return found


def say_more(page: Page, code: str) -> None:
    """Mark a fault, write a note that would run if it could, call the lead, mark one's own nose."""
    page.on("dialog", lambda dialog: pytest.fail(f"a script ran: {dialog.message}"))
    page.tap("#d-faults > summary")
    page.tap("#fault-1")
    expect(page.locator("#fault-1")).to_have_attribute("aria-pressed", "true")
    page.tap("#d-note > summary")
    page.fill("#note", NASTY)
    page.tap("#d-note button")
    expect(page.locator("#said")).to_contain_text("Note kept")
    page.tap("#d-call > summary")
    page.tap("#d-call button >> nth=0")
    expect(page.locator("#said")).to_contain_text("The lead is called")
    page.tap("#d-nose > summary")
    page.tap("#d-nose button >> nth=0")
    expect(page.locator("#said")).to_contain_text("not my best nose today")
    assert page.input_value("#note") == NASTY
    for summary in ("#d-faults", "#d-note", "#d-call", "#d-nose"):
        page.tap(f"{summary} > summary")
    assert code in page.inner_text(".standing")


def nose(page: Page, code: str, lines: int, size: str) -> tuple[list[str], list[int]]:
    """Take a glass, score it by touch and put it down; return its faults of layout, its scores."""
    take(page, code)
    for line in range(lines):
        touch(page, line, 0.2 + 0.06 * line)
    expect(page.locator(".kept", has_text="kept 18:")).to_have_count(lines)
    if code == CODES[0]:
        say_more(page, code)
    found = measured(page, size)
    scores = [int(shown(page, line)) for line in range(lines)]
    page.tap("#down button")
    expect(page.locator("#said")).to_have_text(f"{code} is put down, with everything kept.")
    return found, scores


def ending(page: Page, store: Store, size: str) -> list[str]:
    """Close the session and reveal it; return what is wrong with the last pages."""
    set_stage(store, SessionStatus.CLOSED)
    expect(page.locator("#said")).to_contain_text("was closed")
    found = measured(page, size)
    set_stage(store, SessionStatus.REVEALED)
    expect(page.locator("h1")).to_have_text("This booth no longer saves")
    return [*found, *measured(page, size)]


@contextmanager
def in_hand(browser: Browser, store: Store, size: str) -> Iterator[tuple[Page, Running]]:
    """Sit down at a booth in a window of that size."""
    served = Served(store, session_of_booths(store, NAME), make_door("127.0.0.1", 0), Wall())
    running = Running(served)
    running.start()
    try:
        with tablet(browser, size) as context:
            yield running.arrive(context), running
    finally:
        running.stop()


def lift(page: Page, code: str) -> None:
    """Take a glass up whose page has no lines."""
    page.wait_for_selector("#take")
    page.fill("#code", code)
    page.tap("#take button")
    expect(page.locator("h1 .code")).to_have_text(code)


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
            page = running.page(context)
            found = measured(page, size)
            running.join(page)
            found += measured(page, size)
            running.sign_in(page)
            found += begin(page)
            for code in CODES:
                wrong, scores[code] = nose(page, code, lines, size)
                found += [*wrong, *measured(page, size)]
            expect(page.locator("#asked")).to_contain_text("All your glasses are done.")
            said = list(running.console)  # the browser itself complains of the pages that come now
            found += ending(page, store, size)
    finally:
        running.stop()
    return found, scores, said


@pytest.mark.parametrize("size", SIZES)
def test_on_the_lexicon(browser: Browser, store: Store, wall: Wall, size: str) -> None:
    open_evening(store, pause_s=0)

    def begin(page: Page) -> list[str]:
        page.wait_for_selector("#take")
        return measured(page, size)

    found, scores, said = hold(browser, store, wall, size, len(WORDS), begin)
    assert (found, said) == ([], [])
    for code in CODES:
        assert list(kept_scores(store, "A1", code).values()) == scores[code]


@pytest.mark.parametrize("size", SIZES)
def test_by_stages(browser: Browser, store: Store, wall: Wall, size: str) -> None:
    open_stages(store, pause_s=0)

    def begin(page: Page) -> list[str]:
        page.wait_for_selector("#take")
        return measured(page, size)

    found, scores, said = hold(browser, store, wall, size, 5, begin)
    assert (found, said) == ([], [])
    with store.read() as db:
        asked = select(Answer.question, Answer.value).join(Serving).where(Serving.code == CODES[0])
        stages = {question: value for question, value in db.execute(asked)}
    assert [stages[question] for question in (2, 3, 4)] == scores[CODES[0]][2:]


@pytest.mark.parametrize("size", SIZES)
def test_in_own_words(browser: Browser, store: Store, wall: Wall, size: str) -> None:
    open_own_words(store)

    def begin(page: Page) -> list[str]:
        page.wait_for_selector("#word")
        for place, word in enumerate(OWN, start=1):
            page.fill("#word", word)
            page.tap("#name button")
            expect(page.locator(".words li")).to_have_count(place)
        found = measured(page, size)
        page.tap("text=To the glasses")
        page.wait_for_selector("#take")
        return found

    found, scores, said = hold(browser, store, wall, size, len(OWN), begin)
    assert (found, said) == ([], [])
    for code in CODES:
        assert list(own_scores(store, "A1", code).values()) == scores[code]


@pytest.mark.parametrize("size", SIZES)
def test_to_pass(browser: Browser, store: Store, size: str) -> None:
    open_to_pass(store)
    wanted: dict[str, set[Fault]] = {}
    found: list[str] = []
    with in_hand(browser, store, size) as (page, running):
        for place, code in enumerate(CODES[:2]):
            lift(page, code)
            found += measured(page, size)
            page.tap("text=sulphur >> nth=0" if place else f"text=Pass {code}")
            expect(page.locator("#said")).to_contain_text(code)
            wanted[code] = {Fault.SULPHUR} if place else set()
        expect(page.locator("body")).to_contain_text("air")
        found += measured(page, size)
        said = list(running.console)
        found += ending(page, store, size)
    assert (found, said) == ([], [])
    assert {code: verdicts(store, "A1")[code] for code in wanted} == wanted


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("kind", [kind for kind in SessionKind if kind.facts.task])
def test_in_sets(browser: Browser, store: Store, size: str, kind: SessionKind) -> None:
    assert kind.facts.task is not None
    open_sets(store, kind, pause_s=0)
    glasses = OF_ONE[kind.facts.task]
    codes = SET_CODES[: len(SET_CODES) // glasses * glasses]
    found: list[str] = []
    with in_hand(browser, store, size) as (page, running):
        for first in codes[::glasses]:
            page.wait_for_selector("#take")
            found += measured(page, size)
            page.fill("#code", first)
            page.tap("#take button")
            page.wait_for_selector("#answer")
            found += measured(page, size)
            places = page.locator("#answer select")
            for at in range(places.count()):
                places.nth(at).select_option(str(at + 1))
            if page.locator("#answer input[type=radio]").count():
                page.locator("#answer label").last.tap()
            page.tap("#answer button")
            expect(page.locator("#said")).to_contain_text("The answer is kept: ")
        expect(page.locator("body")).to_contain_text("All your glasses are done.")
        found += measured(page, size)
        said = list(running.console)
        found += ending(page, store, size)
    assert (found, said) == ([], [])
    assert set(kept_places(store)) == set(codes)
