"""Own words on the desk: the words, the map, the people, and what a lead confirms."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy import select
from textual.widgets import ContentSwitcher, Static

from analysis.agreement.own_words import Candidate
from panel.desk.app import DeskApp
from panel.desk.own_words_page import OwnWordsPage, WordTable, meanings, nearest, proposed
from panel.desk.pick import PickPage
from panel.desk.scale_line import LETTERS
from panel.desk.words_map import map_picture
from panel.questions.own_words import words_agreement
from panel.store.engine import Store
from panel.store.word_matches import OwnWordMatch
from tests.desk.driving import press, seen, settle
from tests.desk.kept_pictures import SMALL, check_pictures
from tests.houses.at_the_desk import NASTY
from tests.houses.own_words_at_the_desk import OWN, WORDS, hold_own_words


def confirmed(store: Store) -> list[tuple[str, str, str]]:
    with store.read() as db:
        found = db.scalars(select(OwnWordMatch)).all()
        return [(m.own_word.word, m.descriptor.name, m.confirmed_by) for m in found]


@pytest.mark.slow
async def test_an_evening_in_own_words_has_a_page_of_its_own(house: Store, desk: DeskApp) -> None:
    hold_own_words(house)
    with house.read() as db:
        expected = words_agreement(db, OWN)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i")
        page = desk.screen
        assert isinstance(page, OwnWordsPage)
        assert page.found == expected
        text = "\n".join(seen(desk))
        assert expected.result.verdict.label.upper() in text
        assert NASTY in text
        await press(pilot, "escape", "enter", "i")
        assert isinstance(desk.screen, OwnWordsPage)


@pytest.mark.slow
async def test_a_meaning_is_chosen_replaced_and_taken_back(house: Store, desk: DeskApp) -> None:
    hold_own_words(house)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i", "j")
        assert isinstance(desk.screen, PickPage)
        await press(pilot, "slash", *"bonfire", "enter")
        page = desk.screen
        assert isinstance(page, OwnWordsPage)
        row = page.query_one(WordTable).current
        assert row is not None
        assert confirmed(house) == [(row.word.word, "bonfire", "LD")]
        assert row.confirmed == "bonfire"
        await press(pilot, "j", "slash", *"wet hay", "enter")
        assert confirmed(house) == [(row.word.word, "wet hay", "LD")]
        await press(pilot, "u")
        assert confirmed(house) == []
        await press(pilot, "u")
        assert "Nothing is confirmed" in "\n".join(seen(desk))


@pytest.mark.slow
async def test_views_turn_and_meanings_are_offered_where_words_stand(
    house: Store, desk: DeskApp
) -> None:
    hold_own_words(house)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i", "v")
        page = desk.screen
        assert isinstance(page, OwnWordsPage)
        assert page.query_one(ContentSwitcher).current == "map-view"
        drawn = str(page.query_one("#map", Static).content)
        assert all(f"{letter} D" in drawn for letter in "abcdef")
        offered = {active.binding.action for active in page.active_bindings.values()}
        assert "confirm" not in offered
        await press(pilot, "v")
        assert page.query_one(ContentSwitcher).current == "people"
        await press(pilot, "v")
        offered = {active.binding.action for active in page.active_bindings.values()}
        assert "confirm" in offered


async def test_before_the_reveal_the_map_has_codes_only(house: Store, desk: DeskApp) -> None:
    hold_own_words(house, reveal=False)
    async with desk.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "i", "v")
        page = desk.screen
        assert isinstance(page, OwnWordsPage)
        assert page.found is not None
        assert not {f"D{n}" for n in range(1, 7)} & {p.sample for p in page.found.result.samples}


def test_the_map_has_a_letter_for_each_sample(house: Store) -> None:
    hold_own_words(house)
    with house.read() as db:
        found = words_agreement(db, OWN)
    lines = map_picture(found.result, 60, 20)
    field = lines[:15]
    assert all(len(line) == 60 for line in field)
    for letter in LETTERS[: len(found.result.samples)]:
        assert sum(line.count(letter) for line in field) == 1


def test_what_is_proposed_is_said_with_its_doubt(house: Store) -> None:
    hold_own_words(house)
    with house.read() as db:
        word = words_agreement(db, OWN).result.words[0]
    note = Candidate("ash pan", 0.82, 0.66)
    sure = replace(word, candidates=(note,), proposed="ash pan", chance=0.04)
    unsure = replace(sure, chance=0.1)
    none = replace(sure, proposed=None)
    told = [(proposed(one), nearest(one)) for one in (sure, unsure, none)]
    assert told == [("ash pan", "0.66"), ("perhaps ash pan", "0.66"), ("-", "-")]


def test_likely_notes_stand_first_and_none_twice(house: Store) -> None:
    hold_own_words(house)
    with house.read() as db:
        word = words_agreement(db, OWN).result.words[0]
    offered = [meant.descriptor for meant in meanings(word, ("bonfire", "wet hay"))]
    assert len(offered) == len(set(offered))
    assert {"bonfire", "wet hay"} <= set(offered)
    assert len(WORDS) == 3


SHOWN: dict[str, tuple[str, ...]] = {
    "own-words": ("i",),
    "own-words-map": ("i", "v"),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", SHOWN)
async def test_screen_looks_as_it_was_kept(house: Store, desk: DeskApp, name: str) -> None:
    hold_own_words(house)
    async with desk.run_test(size=SMALL) as pilot:
        await settle(pilot)
        await press(pilot, *SHOWN[name])
        await check_pictures(pilot, name)
