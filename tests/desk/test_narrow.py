"""The list of casks narrowed: what is left is what a look through all of it leaves."""

from __future__ import annotations

import pytest

from panel.desk.app import DeskApp
from panel.desk.casks import CasksPage
from panel.desk.narrow_form import NarrowForm
from panel.desk.pick import PickPage
from panel.questions.cask_life import cask_lines
from panel.questions.cask_narrowing import CaskIndex, Flag, Narrowing, flags_of
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle


def shown(page: CasksPage) -> list[str]:
    return [line.number for line in page.list.shown]


@pytest.mark.slow
async def test_the_list_is_narrowed_by_make_and_escape_widens_it(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "f")
        assert isinstance(desk.screen, NarrowForm)
        await press(pilot, "enter")
        assert isinstance(desk.screen, PickPage)
        await press(pilot, "end", "enter", "ctrl+s")
        page = desk.screen
        assert isinstance(page, CasksPage)
        assert shown(page) == ["SW4", "SW5", "SW6"]
        assert "Casks: Peat Weir" in seen(desk)[1]
        assert "3 of 8" in seen(desk)[1]
        await press(pilot, "slash", *"sw5", "enter")
        assert shown(page) == ["SW5"]
        await press(pilot, "escape")
        assert shown(page) == ["SW4", "SW5", "SW6"]
        await press(pilot, "escape")
        assert len(shown(page)) == 8
        assert "Peat Weir" not in seen(desk)[1]


async def test_it_stays_narrowed_when_something_is_written(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        page = desk.screen
        assert isinstance(page, CasksPage)
        page.narrow(Narrowing(flag=Flag.LEAK))
        assert shown(page) == ["SW2"]
        await press(pilot, "f5")
        assert shown(page) == ["SW2"]
        assert "leak" in "\n".join(seen(desk))
        page.narrow(Narrowing(flag=Flag.LEAK, state="empty"))
        await settle(pilot)
        assert shown(page) == []
        assert "Escape widens" in "\n".join(seen(desk))


@pytest.mark.slow
async def test_an_age_that_is_no_number_is_said(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "f", "down", "down", "down", "down", *"old", "ctrl+s")
        assert isinstance(desk.screen, NarrowForm)
        assert "such as 12" in "\n".join(seen(desk))


def test_the_index_finds_what_a_look_through_all_finds(house: Store, desk: DeskApp) -> None:
    with house.read() as db:
        lines = cask_lines(db, desk.today())
    index = CaskIndex.of(lines)
    ages = {line.number: line.state.age_years for line in lines if line.state}
    known = sorted(age for age in ages.values() if age is not None)
    low, high = known[1], known[3]
    aged = {number for number, age in ages.items() if age is not None and low <= age <= high}
    assert index.numbers(Narrowing(age_from=low, age_to=high)) == aged
    flagged = {line.number for line in lines if Flag.LEAK in flags_of(line)}
    assert index.numbers(Narrowing(flag=Flag.LEAK)) == flagged == {"SW2"}
    woods = index.numbers(Narrowing(woods=("oak barrel",), makes=("Low Weir",)))
    assert woods == {
        line.number
        for line in lines
        if line.wood == "oak barrel" and line.state and line.state.make == "Low Weir"
    }
    assert index.numbers(Narrowing()) is None
    assert index.numbers(Narrowing(state="on fire")) == set()
