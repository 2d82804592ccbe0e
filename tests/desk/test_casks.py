from __future__ import annotations

import pytest

from panel.desk.app import DeskApp
from panel.desk.cask_page import CaskPage
from panel.desk.casks import CasksPage
from tests.desk.driving import press, seen, settle
from tests.houses.at_the_desk import NASTY


async def test_list_shows_every_cask_as_it_is(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        page = desk.screen
        assert isinstance(page, CasksPage)
        numbers = [line.number for line in page.list.shown]
        assert numbers == sorted(numbers)
        assert len(numbers) == 8
        text = "\n".join(seen(desk))
        assert NASTY in text
        assert "leaking" in text


async def test_words_are_found_and_escape_shows_all(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "slash", *"leak", "enter")
        page = desk.screen
        assert isinstance(page, CasksPage)
        assert [line.number for line in page.list.shown] == ["SW2"]
        await press(pilot, "escape")
        assert len(page.list.shown) == 8


async def test_capitals_sort_numbers_as_numbers_and_missing_values_last(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "L")
        page = desk.screen
        assert isinstance(page, CasksPage)
        assert page.list.shown[0].number == "SW1"
        assert page.list.shown[-1].number == "SW10"
        await press(pilot, "L")
        assert page.list.shown[-1].number == "SW10"
        await press(pilot, "C")
        shown = [line.number for line in page.list.shown]
        assert shown[-2:] == ["SW6", "SW10"]


@pytest.mark.slow
async def test_a_cask_with_a_name_like_markup_shows_its_life(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "end", "enter")
        page = desk.screen
        assert isinstance(page, CaskPage)
        assert page.number == NASTY
        assert page.life is not None
        text = "\n".join(seen(desk))
        assert f"belongs to {NASTY}" in text
        await press(pilot, "escape")
        assert isinstance(desk.screen, CasksPage)
