"""An answer as a picture at the desk, and as a file to hand on."""

from __future__ import annotations

from pathlib import Path

import pytest

from panel.desk.app import DeskApp
from panel.desk.file_names import free_path, plain_name
from panel.desk.picture_page import PicturePage
from panel.desk.side_by_side import SideBySidePage
from panel.desk.target_page import TargetPage
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle
from tests.desk.test_answers import hold_with_scores
from tests.houses.at_the_desk import ASSESSORS


@pytest.mark.slow
async def test_what_was_found_is_drawn_and_handed_on(
    house: Store, desk: DeskApp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "f6")
        assert not isinstance(desk.screen, PicturePage)  # a list of sessions is no answer
        await press(pilot, "i", "f6")
        page = desk.screen
        assert isinstance(page, PicturePage)
        assert "What did we find" in "\n".join(seen(desk))
        await press(pilot, "x", "x")
        assert len(list(tmp_path.glob("session-*.svg"))) == 2
        assert "The picture is in" in "\n".join(seen(desk))


@pytest.mark.slow
async def test_a_ranking_is_drawn(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "3", "enter")
        page = desk.screen
        assert isinstance(page, TargetPage)
        await press(pilot, "f6")
        drawn = desk.screen
        assert isinstance(drawn, PicturePage)
        assert page.match is not None
        [picture] = drawn.pictures
        assert page.match.casks[0].cask in "\n".join(seen(desk))
        assert len(getattr(picture, "facets", ())) == len(page.match.casks[:6])


async def test_one_note_is_drawn_after_the_reveal_under_letters_only(
    house: Store, desk: DeskApp
) -> None:
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i", "v", "home", "enter")
        assert isinstance(desk.screen, SideBySidePage)
        await press(pilot, "home", "f6")
        drawn = desk.screen
        assert isinstance(drawn, PicturePage)
        [lead] = drawn.pictures
        assert "Who saw" in lead.title
        text = "\n".join(seen(desk)[4:-3])
        assert not [code for code in ASSESSORS if code in text]
        await press(pilot, "escape", "end", "f6")
        own = desk.screen
        assert isinstance(own, PicturePage)
        assert f"{max(ASSESSORS)}, whose page this is" in "\n".join(seen(desk))


async def test_nobody_is_drawn_before_the_reveal(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "closed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i", "v", "home", "enter", "f6")
        drawn = desk.screen
        assert isinstance(drawn, PicturePage)
        assert not drawn.pictures
        assert "session reveal" in " ".join("\n".join(seen(desk)).split())


def test_a_name_of_a_file_holds_safe_signs_only(tmp_path: Path) -> None:
    named = plain_name("Session ../../Thursday: 12 <x>", "picture")
    assert named == "Session-Thursday-12-x"
    first = free_path(tmp_path / f"{named}.svg")
    assert first == tmp_path / "Session-Thursday-12-x.svg"
    first.write_text("")
    assert free_path(first).name == "Session-Thursday-12-x-2.svg"
    assert plain_name("?!", "picture") == "picture"
