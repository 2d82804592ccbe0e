"""Choosing from a list: letters find, and what takes several is offered only where it can."""

from __future__ import annotations

import pytest

from panel.desk.app import DeskApp
from panel.desk.columns import Column
from panel.desk.key_slip import key_lines
from panel.desk.list_page import FindLine
from panel.desk.pick import PickPage
from tests.desk.driving import key_event, press, seen, settle
from tests.desk.test_first_hour import desk as empty_desk
from tests.desk.test_first_hour import path

__all__ = ["empty_desk", "path"]

NAMES = ("Africa/Abidjan", "America/Lima", "Europe/Lisbon", "Europe/Oslo", "材木")


def picking(*, many: bool) -> PickPage:
    column: Column[str] = Column("Name", 30, str)
    return PickPage("Which?", NAMES, [column], name_of=str, place="casks", many=many)


async def test_letters_find_where_one_is_taken(desk: DeskApp) -> None:
    taken: list[object] = []
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(picking(many=False), taken.append)
        await settle(pilot)
        keys = "\n".join(key_lines(desk.screen))
        assert "Tick" not in keys
        assert "tick" not in seen(desk)[-1]
        assert "letters find" in seen(desk)[-2]
        await press(pilot, *"tic", "escape", *"lis", "enter")
        assert taken == [("Europe/Lisbon",)]


@pytest.mark.slow
async def test_the_one_line_that_begins_with_the_words_is_taken(desk: DeskApp) -> None:
    taken: list[object] = []
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        column: Column[str] = Column("Name", 30, lambda name: f"{name}, see lexicon")
        names = ["scores", "lexicon"]
        page = PickPage("Which?", names, [column], name_of=str, place="casks", many=False)
        desk.push_screen(page, taken.append)
        await settle(pilot)
        await press(pilot, *"lexi")
        assert page.made.current == "lexicon", "the arrow stands on what enter takes"
        await press(pilot, "enter")
        assert taken == [("lexicon",)]


@pytest.mark.slow
async def test_a_letter_on_the_list_begins_anew_and_any_script_is_found(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        page = picking(many=False)
        desk.push_screen(page)
        await settle(pilot)
        await press(pilot, *"eur", "enter", *"am")
        assert page.query_one(FindLine).value == "am"
        assert page.list.shown == ["America/Lima"]
        await press(pilot, "escape", "材")
        assert page.list.shown == ["材木"]


async def test_what_is_typed_fast_is_found_whole_and_takes_nothing_by_itself(
    desk: DeskApp,
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        page = picking(many=False)
        desk.push_screen(page)
        await settle(pilot)
        for key in ("a", "/", "l", "1", "enter"):
            desk.post_message(key_event(key))
        await settle(pilot)
        assert desk.screen is page
        assert page.query_one(FindLine).value == "a/l1"


async def test_where_several_are_taken_t_ticks_all_and_space_moves_down(desk: DeskApp) -> None:
    taken: list[object] = []
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        page = picking(many=True)
        desk.push_screen(page, taken.append)
        await settle(pilot)
        assert "Space ticks and moves down" in seen(desk)[-2]
        assert "tick all" in seen(desk)[-1]
        await press(pilot, "t", "t", "space")
        assert page.list.cursor == 1
        await press(pilot, "enter")
        assert taken == [NAMES[:1]]


@pytest.mark.parametrize("keys", [("enter", "x", "down", "down", "enter"), ()], ids=["zone", "top"])
async def test_no_place_is_offered_before_there_is_a_house(
    empty_desk: DeskApp, keys: tuple[str, ...]
) -> None:
    async with empty_desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *keys)
        assert isinstance(empty_desk.screen, PickPage) == bool(keys)
        assert "1 Sessions" not in seen(empty_desk)[0]
        ways = empty_desk.screen.active_bindings.values()
        assert not any(way.binding.action.startswith("go(") for way in ways)
        before = empty_desk.screen
        await press(pilot, "5")
        assert empty_desk.screen is before
