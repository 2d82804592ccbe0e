"""What a lead waits for at the start, and what must not be loaded before the first picture."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from sqlalchemy import select

from panel.clock import Clock
from panel.desk.app import DeskApp
from panel.desk.casks import CasksPage
from panel.desk.opening_page import OpeningPage
from panel.desk.sessions import SessionsPage, empty_words
from panel.desk.start_page import StartPage, StepsTable
from panel.errors import NoDatabase
from panel.kinds import DrawKind, Role
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.opening import open_store
from panel.store.people import Person
from tests.desk.driving import press, settle
from tests.houses.parts import person

HEAVY = ("pandas", "numpy", "scipy", "sklearn", "sqlalchemy", "alembic", "matplotlib", "openpyxl")
AT_FIRST_PAINT = """
import asyncio, json, sys
import panel.cli.desk
from panel.desk.app import DeskApp
loaded = []
class Watched(DeskApp):
    def open_up(self):
        loaded.append(sorted(set(sys.modules) & set(%r)))
async def main():
    async with Watched(lambda: None).run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        loaded.append(type(pilot.app.screen).__name__)
asyncio.run(main())
print(json.dumps(loaded))
"""


def test_nothing_heavy_is_loaded_before_the_first_picture() -> None:
    code = AT_FIRST_PAINT % (HEAVY,)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True)
    assert json.loads(done.stdout) == [[], OpeningPage.__name__]


async def test_a_database_that_is_not_there_ends_the_desk_with_the_reason(tmp_path: Path) -> None:
    desk = DeskApp(lambda: open_store(str(tmp_path / "none.sqlite")))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
    assert isinstance(desk.failure, NoDatabase)
    assert "oakpanel db init" in str(desk.failure)
    assert desk.return_code == 1


async def test_the_desk_opens_where_it_was_told(house: Store, clock: Clock) -> None:
    desk = DeskApp(house, by="LD", clock=clock, start="casks")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert isinstance(desk.screen, CasksPage)


async def test_an_unknown_place_opens_the_first(house: Store, clock: Clock) -> None:
    desk = DeskApp(house, by="LD", clock=clock, start="[/x]")
    assert desk.start_place == "sessions"


def test_without_a_terminal_the_command_says_what_to_do(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from panel.cli.main import run

    with pytest.raises(SystemExit) as left:
        run(["--db", str(tmp_path / "none.sqlite"), "desk"])
    assert left.value.code == 1
    assert "needs a terminal" in capsys.readouterr().err


def done_in(desk: DeskApp) -> list[str]:
    return [step.name for step in desk.screen.query_one(StepsTable).rows if step.done]


async def test_an_empty_list_of_sessions_names_what_is_missing_only(
    store: Store, clock: Clock
) -> None:
    """The stock is loaded but for a lexicon: people and draws are not asked for again."""
    with store.write() as db:
        db.add(person("LD", Role.LEAD))
        db.add(person("A1"))
        db.add(Draw(label="REF", kind=DrawKind.REFERENCE))
    desk = DeskApp(store, by="LD", clock=clock, start="sessions")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert isinstance(desk.screen, StartPage)
        assert done_in(desk) == ["draws"]  # nobody could sign in at a booth
        with store.write() as db:
            for each in db.scalars(select(Person)):
                each.pin_hash = "set"
            db.delete(db.scalars(select(Draw)).one())
            db.add(Draw(label="D1", kind=DrawKind.MARKET))
        await press(pilot, "f5")
        assert done_in(desk) == ["people"]  # no draw links one session to the next
        with store.write() as db:
            db.add(Draw(label="REF", kind=DrawKind.REFERENCE))
        await press(pilot, "f5")
        assert done_in(desk) == ["people", "draws"]
        await press(pilot, "escape")
        assert isinstance(desk.screen, SessionsPage)
        assert desk.screen.list.empty.splitlines()[2:] == ["    lexicon"]
        await press(pilot, "f5")
        assert isinstance(desk.screen, SessionsPage)
    assert empty_words(()) == "No sessions yet: n plans the first one."
