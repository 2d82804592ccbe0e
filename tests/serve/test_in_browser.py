"""One glass by touch in a real browser: boxes measured, and the truth about what is kept."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import APIResponse, Browser, Route, expect
from sqlalchemy import select

from panel.kinds import CallReason, SessionStatus
from panel.seat.arriving import session_of_booths
from panel.serve import pages as serve_pages
from panel.serve.door import make_door
from panel.serve.served import Served
from panel.store.engine import Store
from panel.store.sessions import FaultMark, LeadCall, Serving
from tests.booth.sitting import set_stage
from tests.houses.at_the_booth import NAME, PINS, START, WORDS, Wall, kept_scores
from tests.report.test_browser import MEASURED, PALE, browser
from tests.serve.touching import (
    SIZES,
    TARGETS,
    Running,
    lay,
    shelves,
    shown,
    tablet,
    take,
    touch,
    wait_until_sent,
)
from tests.thinned import some

__all__ = ["browser"]


@pytest.fixture
def running(evening: Store, wall: Wall) -> Iterator[Running]:
    served = Served(evening, session_of_booths(evening, NAME), make_door("127.0.0.1", 0), wall)
    here = Running(served)
    here.start()
    yield here
    here.stop()


@pytest.mark.parametrize("size", some(SIZES, 2))
def test_one_glass_by_touch_with_every_box_measured(
    browser: Browser, running: Running, evening: Store, size: str
) -> None:
    with tablet(browser, size) as context:
        page = running.seat(context)
        pages = [page.evaluate(f"() => [({TARGETS})()[0], ({MEASURED})(), ({PALE})()[0]]")]
        take(page)
        for line in range(len(WORDS)):
            touch(page, line, 0.5)
        page.tap(".line >> nth=0 >> .step[data-step='1']")
        page.tap(".line >> nth=1 >> .unset")
        kept = page.locator(".kept", has_text="kept 18:00:00")
        expect(kept).to_have_count(len(WORDS) - 1)
        expect(page.locator(".kept").nth(1)).to_have_text("kept: blank")
        for summary in ("#d-faults", "#d-note", "#d-rest", "#d-down", "#d-call", "#d-nose"):
            page.tap(f"{summary} > summary")
        page.tap("#fault-1")
        expect(page.locator("#fault-1")).to_have_attribute("aria-pressed", "true")
        targets, count = page.evaluate(TARGETS)
        assert (targets, count > 60) == ([], True)
        pages.append(page.evaluate(f"() => [[], ({MEASURED})(), ({PALE})()[0]]"))
        code = page.locator(".standing .code")
        assert code.evaluate("one => parseFloat(getComputedStyle(one).fontSize)") >= 48
        page.set_viewport_size({"width": SIZES[size][0] // 2, "height": SIZES[size][1] // 2})
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
        scores = [int(shown(page, line) or -1) for line in range(len(WORDS))]
        assert 45 < scores[2] < 55
        assert (scores[0], scores[1]) == (scores[2] + 1, -1)
        page.tap("#d-down button")
        expect(page.locator("#said")).to_have_text("538 is put down, with everything kept.")
    assert pages == [[[], [], []]] * 2
    assert running.console == []
    words = [word for word, _ in WORDS]
    wanted = {word: score for word, score in zip(words, scores, strict=True) if score >= 0}
    assert kept_scores(evening, "A1", "538") == wanted


@pytest.mark.slow
def test_what_the_server_does_not_answer_is_not_called_kept_and_is_sent_later(
    browser: Browser, running: Running, evening: Store
) -> None:
    with tablet(browser) as context:
        page = running.seat(context)
        take(page)
        touch(page, 0, 0.3)
        first = page.locator(".line").nth(0)
        expect(first.locator(".kept")).to_have_text("kept 18:00:00")
        running.stop()
        touch(page, 0, 0.7)
        page.fill(".line >> nth=3 >> .value", "12")
        page.tap("#d-note > summary")
        page.fill("#note", "like the quay")
        page.tap("#d-note button")
        expect(first.locator(".kept")).to_have_text("! not kept yet")
        expect(page.locator("#unsent li")).to_have_count(3)
        assert "538 honey 12" in page.inner_text("#unsent")
        value = shown(page, 0)
        assert kept_scores(evening, "A1", "538")["orchard fruit"] != int(value)
        running.start()
        expect(first.locator(".kept")).to_have_text("kept 18:00:00")
        expect(page.locator("#unsent")).to_be_hidden()
        wait_until_sent(page)
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": int(value), "honey": 12}


@pytest.mark.slow
def test_a_minute_without_a_line_is_told_and_all_is_sent_after_it(
    browser: Browser, running: Running, evening: Store
) -> None:
    with tablet(browser) as context:
        context.clock.install()
        page = running.seat(context)
        take(page)
        touch(page, 0, 0.3)
        context.clock.run_for(1000)
        expect(page.locator(".line .kept").nth(0)).to_have_text("kept 18:00:00")
        context.set_offline(True)
        for line in range(4):
            touch(page, line, 0.7)
            context.clock.run_for(15_000)
            expect(page.locator(".line .kept").nth(line)).to_have_text("! not kept yet")
            expect(page.locator("#unsent li")).to_have_count(line + 1)
            assert "The server does not answer." in page.inner_text("#unsent")
        values = [int(shown(page, line)) for line in range(4)]
        assert list(kept_scores(evening, "A1", "538")) == ["orchard fruit"]
        page.tap("#d-down > summary")
        page.tap("#d-down button")
        expect(page.locator("#said")).to_have_text("! Not everything is kept yet: try again first.")
        context.set_offline(False)
        context.clock.run_for(5000)
        expect(page.locator(".kept", has_text="kept 18:00:00")).to_have_count(4)
        expect(page.locator("#unsent")).to_be_hidden()
        wait_until_sent(page)
    assert list(kept_scores(evening, "A1", "538").values()) == values


@pytest.mark.slow
def test_what_is_held_survives_the_window_and_goes_with_the_person(
    browser: Browser, running: Running, evening: Store
) -> None:
    with tablet(browser) as context:
        page = running.seat(context)
        take(page)
        context.set_offline(True)
        touch(page, 0, 0.7)
        expect(page.locator("#unsent li")).to_have_count(1)
        held = shelves(page)
        page.close()
        context.set_offline(False)
        page = running.page(context)
        expect(page.locator(".line .kept").nth(0)).to_have_text("kept 18:00:00")
        assert list(kept_scores(evening, "A1", "538")) == ["orchard fruit"]
        # What one person left is gone once another sits down in this browser.
        page.tap("#leave button")
        page.wait_for_selector("#pin")
        lay(page, held)
        page.fill("#code", "A2")
        page.fill("#pin", PINS["A2"])
        page.tap("button.main")
        expect(page.locator("html.runs")).to_be_attached()
        assert shelves(page) == []


@pytest.mark.slow
def test_a_glass_that_somebody_stops_goes_from_the_hand_that_holds_it(
    browser: Browser, running: Running, evening: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(serve_pages, "LOOK_S", 1)
    with tablet(browser) as context:
        page = running.seat(context)
        take(page)
        page.locator(".value").first.click()
        page.keyboard.type("4")
        page.wait_for_timeout(1500)  # it is looked meanwhile, and nothing is redrawn under a hand
        assert page.locator(".value").first.input_value() == "4"
        with evening.write() as db:
            held = db.scalars(select(Serving).where(Serving.code == "538")).first()
            assert held is not None
            db.add(
                LeadCall(
                    session_id=held.session_id,
                    person_id=held.person_id,
                    serving_id=held.id,
                    reason=CallReason.NOT_SAFE,
                    called_at=START,
                )
            )
        expect(page.locator("#said")).to_contain_text("538 is stopped", timeout=8000)
        expect(page.locator("#code")).to_be_visible()
    assert all("410" in line for line in running.console)  # the digit typed last came too late


@pytest.mark.slow
def test_a_finger_that_taps_twice_does_once(
    browser: Browser, running: Running, evening: Store
) -> None:
    with tablet(browser) as context:
        page = running.seat(context)
        take(page)
        for summary, button in (("#d-call", "text='water'"), ("#d-faults", "#fault-1")):
            page.tap(f"{summary} > summary")
            for _ in range(2):
                page.tap(button)
        expect(page.locator("#said")).to_contain_text("Fault mark: sulphur")
        expect(page.locator("#fault-1")).to_have_attribute("aria-pressed", "true")
    with evening.read() as db:
        assert [call.reason.value for call in db.scalars(select(LeadCall))] == ["water"]
        assert [mark.fault.value for mark in db.scalars(select(FaultMark))] == ["sulphur"]


@pytest.mark.slow
def test_an_answer_that_comes_late_does_not_turn_the_page_back(
    browser: Browser, running: Running, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(serve_pages, "LOOK_S", 0.3)
    asked: list[tuple[Route, APIResponse]] = []
    with tablet(browser) as context:
        page = running.seat(context)
        page.route("**/", lambda route: asked.append((route, route.fetch())))
        while not asked:
            page.wait_for_timeout(20)
        take(page)
        with page.expect_event("requestfinished"):
            for route, answer in asked:
                route.fulfill(response=answer)
        page.evaluate("new Promise(done => setTimeout(done, 100))")  # it is read and shown by then
        expect(page.locator(".standing .code")).to_have_text("538")


@pytest.mark.slow
def test_with_the_reveal_a_browser_holds_nothing_more(
    browser: Browser, running: Running, evening: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(serve_pages, "LOOK_S", 0.3)
    with tablet(browser) as context:
        page = running.seat(context)
        lay(page, [["x y", []]])
        set_stage(evening, SessionStatus.REVEALED)
        expect(page.locator("h1")).to_have_text("This booth no longer saves")
        wait_until_sent(page)
        assert [cookie["name"][:13] for cookie in context.cookies()] == ["oakpanel_brow"]


@pytest.mark.slow
def test_who_signs_in_again_is_asked_about_what_was_not_kept(
    browser: Browser, running: Running, evening: Store
) -> None:
    with tablet(browser) as context, tablet(browser, "phone") as other:
        page = running.seat(context)
        take(page)
        context.set_offline(True)
        page.fill(".line >> nth=0 >> .value", "33")
        page.tap("h1")
        expect(page.locator("#unsent li")).to_have_count(1)
        running.page(other).close()
        elsewhere = running.page(other)
        elsewhere.fill("#code", running.served.joining.code)
        elsewhere.tap("button.main")
        elsewhere.fill("#pin", PINS["A1"])
        elsewhere.fill("#code", "A1")
        elsewhere.tap("button.main")
        elsewhere.wait_for_selector(".line")
        context.set_offline(False)
        expect(page.locator("h1")).to_have_text("This booth no longer saves")
        assert "538 orchard fruit 33" in page.inner_text("#unsent")
        assert kept_scores(evening, "A1", "538") == {}
        page.tap("#leave button")
        page.fill("#code", "A1")
        page.fill("#pin", PINS["A1"])
        page.tap("button.main")
        page.tap("#keep")
        expect(page.locator(".line .kept").nth(0)).to_have_text("kept 18:00:00")
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 33}


@pytest.mark.slow
def test_a_second_window_of_the_same_browser_is_refused_in_words(
    browser: Browser, running: Running
) -> None:
    with tablet(browser) as context:
        page = running.seat(context)
        second = running.page(context)
        expect(second.locator("#said")).to_contain_text("open in another window of this browser")
        assert second.locator("form").count() == 0
        take(page)


@pytest.mark.slow
def test_a_whole_glass_by_keys_alone(browser: Browser, running: Running, evening: Store) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    page = running.page(context)
    expect(page.locator("#code")).to_be_focused()
    for typed, then in ((running.served.joining.code, "#pin"), (f"A1\t{PINS['A1']}", "#take")):
        for part in typed.split("\t"):
            page.keyboard.type(part)
            page.keyboard.press("Tab" if part == "A1" else "Enter")
        page.wait_for_selector(then)
        page.wait_for_load_state()
        expect(page.locator("#code")).to_be_focused()
    page.keyboard.type("538")
    page.keyboard.press("Enter")
    page.wait_for_selector(".line")
    page.focus(".line >> nth=0 >> input[type=range]")
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.type("62")
    page.keyboard.press("Enter")
    expect(page.locator(".kept").nth(0)).to_have_text("kept 18:00:00")
    assert page.evaluate("document.activeElement.closest('.line') !== null") is False
    context.close()
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}
