"""A long reckoning at the desk: how far it is stands above the keys, and Escape ends it."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest
from textual.pilot import Pilot

from analysis.errors import StoppedError
from analysis.under_way import Stage, step
from panel.desk.app import DeskApp
from panel.desk.casks import CasksPage
from panel.desk.influences_page import InfluencesPage
from panel.questions.known_profile import KnownProfile
from tests.desk.driving import press, seen, settle

WAITS_S = 20.0


class Reckoning:
    """Stands where an answer is reckoned: it tells of its third part and waits to be stopped."""

    def __init__(self) -> None:
        self.told, self.over = threading.Event(), threading.Event()
        self.ended: BaseException | None = None

    def __call__(self, *_given: object, **_asked: object) -> None:
        try:
            while True:
                step(Stage.PROFILE, 3, 12)
                self.told.set()
                if self.over.wait(0.01):
                    raise RuntimeError("nobody stopped it")
        except StoppedError as error:
            self.ended = error
            raise
        finally:
            self.over.set()


@pytest.fixture
def reckoning(monkeypatch: pytest.MonkeyPatch) -> Iterator[Reckoning]:
    found = Reckoning()
    monkeypatch.setattr(KnownProfile, "of", found)
    yield found
    found.over.set()


async def until_told(pilot: Pilot[None], words: str) -> None:
    for _ in range(2000):
        await pilot.pause(0.005)
        if words in "\n".join(seen(pilot.app)):
            return
    raise AssertionError("\n".join(seen(pilot.app)))


async def test_it_says_how_far_it_is_and_escape_stops_it(
    desk: DeskApp, reckoning: Reckoning
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        assert isinstance(desk.screen, CasksPage)
        await pilot.press("w")
        await until_told(pilot, "What each sample is: 3 of 12 notes, 25%. Escape stops it")
        assert isinstance(desk.screen, InfluencesPage)
        assert not reckoning.over.is_set()
        await pilot.press("escape")
        assert reckoning.over.wait(WAITS_S)
        await settle(pilot)
        assert isinstance(reckoning.ended, StoppedError)
        assert isinstance(desk.screen, CasksPage)
        assert "!" not in "".join(seen(desk)[-4:])


@pytest.mark.slow
async def test_another_place_leaves_it_going(desk: DeskApp, reckoning: Reckoning) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        await pilot.press("w")
        await until_told(pilot, "25%")
        await pilot.press("1")
        await pilot.pause(0.05)
        assert not reckoning.over.is_set()
        await pilot.press("2", "escape")
        assert reckoning.over.wait(WAITS_S)
        await settle(pilot)


async def test_nothing_is_said_of_a_reckoning_that_is_done(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        page = desk.screen
        assert isinstance(page, CasksPage)
        page.on_page_how_far(page.HowFar("3 of 3 notes, 100%"))
        assert "Escape stops it" in "\n".join(seen(desk))
        page.read()
        await settle(pilot)
        assert "Escape stops it" not in "\n".join(seen(desk))
