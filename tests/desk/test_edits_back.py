"""`u` takes the last edit of a list back, on its page: the same as the commands' --take-back."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import func, select

from panel.desk.app import DeskApp
from panel.desk.rules_page import RulesPage
from panel.desk.settings_page import SettingsPage
from panel.intake.loading import add_record
from panel.questions.lexicon import descriptor_lines
from panel.questions.targets import target_records
from panel.store.engine import Store
from panel.store.house import read_setting
from panel.store.log import LogEntry
from panel.store.rules import rule_books
from tests.desk.driving import press, seen, settle


def lists(house: Store) -> tuple[object, ...]:
    with house.read() as db:
        settings = [read_setting(db, name) for name in ("pour_ml", "time_zone")]
        return (descriptor_lines(db), target_records(db), rule_books(db), settings)


def entries(house: Store) -> int:
    with house.read() as db:
        return db.scalar(select(func.count(LogEntry.id))) or 0


async def test_words_and_targets_are_as_they_were(house: Store, desk: DeskApp) -> None:
    with house.read() as db:
        word = sorted(line.name for line in descriptor_lines(db))[0]
    before, lines = lists(house), entries(house)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        row = {
            **{"descriptor": word, "version": "2", "stage": "finish"},
            **{"low_words": "none", "high_words": "black"},
        }
        assert add_record(house, "lexicon", row, now=desk.now(), by="LD").written
        row = {"target": "Ember", "descriptor": word, "aim": "30", "tolerance": "5"}
        assert add_record(house, "targets", row, now=desk.now(), by="LD").written
        await press(pilot, "3", "slash", *"Ember", "enter", "u")
        assert "The edit of target Ember" in "\n".join(seen(desk))
        await press(pilot, "4", "slash", *word, "enter", "u")
        assert "The edit of the lexicon" in "\n".join(seen(desk))
    assert lists(house) == before
    assert entries(house) == lines + 4


@pytest.mark.slow
async def test_settings_and_rules_are_as_they_were(house: Store, desk: DeskApp) -> None:
    before = lists(house)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        zone = desk.zone
        await press(pilot, "7", "enter", "slash", *"time_zone", "enter", "enter")
        await press(pilot, "enter", "slash", *"Antarctica/Troll", "enter", "enter", "ctrl+s")
        assert isinstance(desk.screen, SettingsPage)
        assert desk.zone == "Antarctica/Troll"
        await press(pilot, "u")
        assert desk.zone == zone
        await press(pilot, "escape", "escape", "7", "down", "enter")
        await press(pilot, "full_stop", *"set in force", "enter", "y")
        assert isinstance(desk.screen, RulesPage)
        assert lists(house) != before
        await press(pilot, "u")
        assert "The edit of rule set Scotch whisky is taken back" in "\n".join(seen(desk))
    assert lists(house) == before


@pytest.mark.slow
async def test_what_is_too_long_ago_stays_and_the_page_says_why(
    house: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        before = entries(house)
        await press(pilot, "7", "enter", "slash", *"pour_ml", "enter", "enter", "ctrl+s")
        begun, after = desk.clock(), lists(house)
        desk.clock = lambda: begun + timedelta(minutes=11)
        await press(pilot, "u")
        assert "within ten minutes" in " ".join("\n".join(seen(desk)).split())
        assert (lists(house), entries(house)) == (after, before + 1)
