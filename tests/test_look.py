"""The look that was chosen last is there at the next start, in both rooms, and in no record."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.app import App

from panel import look
from panel.booth.app import BoothApp
from panel.booth.themes import DAYLIGHT, LAMPLIGHT
from panel.clock import Clock
from panel.desk import themes
from panel.desk.app import DeskApp
from panel.own_folder import NAMED
from panel.store.engine import Store


@pytest.fixture
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(NAMED, str(tmp_path / "state"))
    return tmp_path / "state"


async def after_key(app: App[None], *keys: str) -> str:
    async with app.run_test() as pilot:
        await pilot.press(*keys)
        return app.theme


async def test_one_key_turns_it_in_both_rooms_and_for_the_next_start(
    state: Path, store: Store, clock: Clock
) -> None:
    assert await after_key(DeskApp(store, clock=clock)) == themes.NIGHT.name
    assert await after_key(DeskApp(store, clock=clock), "f2") == themes.DAY.name
    assert await after_key(BoothApp(store, clock=clock)) == DAYLIGHT.name
    assert await after_key(BoothApp(store, clock=clock), "f2") == LAMPLIGHT.name
    assert await after_key(DeskApp(store, clock=clock)) == themes.NIGHT.name


@pytest.mark.parametrize("content", [b"", b"{", b"\xff\xfe", b"[1]", b'{"light": "yes"}'])
def test_a_damaged_file_is_the_dark_look_and_is_written_anew(state: Path, content: bytes) -> None:
    state.mkdir()
    (state / "look.json").write_bytes(content)
    assert not look.is_light()
    look.keep_light(True)
    assert look.is_light()
    assert (state / "look.json").stat().st_mode & 0o077 == 0


def test_where_nothing_can_be_written_the_look_holds_until_the_end(state: Path) -> None:
    state.write_bytes(b"a file where the folder would be")
    look.keep_light(True)
    assert not look.is_light()
