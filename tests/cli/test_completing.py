"""A shell completes commands and the names of records; what stands in the way is not told."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from click.shell_completion import BashComplete

from panel.cli.main import group
from panel.kinds import SessionStatus
from panel.store.engine import Store
from panel.store.names import MOST, Named, names_of
from panel.store.sessions import PanelSession
from tests.houses.at_the_desk import build

LOADED = """
import os, sys
os.environ.update(COMP_WORDS="oakpanel match L", COMP_CWORD="2", _OAKPANEL_COMPLETE="bash_complete")
from panel.cli.main import run
try:
    run()
except SystemExit:
    pass
print(*[name for name in ("sqlalchemy", "pandas", "textual", "numpy") if name in sys.modules])
"""


@pytest.fixture
def house(store: Store, monkeypatch: pytest.MonkeyPatch) -> Store:
    build(store)
    with store.write() as db:
        db.add_all(
            PanelSession(name=name, status=SessionStatus.DRAFT) for name in ("night-2", "Monday")
        )
    monkeypatch.setenv("OAKPANEL_DB", str(store.url.database))
    return store


def offered(*words: str) -> list[str]:
    *typed, begins = words
    complete = BashComplete(group, {}, "oakpanel", "_OAKPANEL_COMPLETE")
    return [item.value for item in complete.get_completions(list(typed), begins)]


def test_commands_and_names_are_completed(house: Store) -> None:
    assert offered("rel") == ["release"]
    assert offered("cask", "SW1") == ["SW1", "SW10"]
    assert offered("cask", "nothing") == []
    assert offered("session", "show", "") == ["Monday", "night-2"]
    assert offered("agreement", "night-2", "M") == ["Monday"]
    assert offered("report", "session", "M") == ["Monday"]
    assert offered("report", "cask", "SW1") == ["SW1", "SW10"]
    assert offered("report", "panel", "night-2", "M") == ["Monday"]
    assert offered("report", "ageing", "--cask", "SW10") == ["SW10"]
    assert "LD" in offered("people", "role", "L")
    assert "LD" in offered("--by", "L")
    assert offered("session", "plan", "") == [], "the name is a new one"


def test_the_database_named_on_the_line_counts(house: Store, tmp_path: Path) -> None:
    assert offered("--db", str(tmp_path / "none.sqlite"), "cask", "") == []
    assert not (tmp_path / "none.sqlite").exists()


def test_a_name_is_no_pattern_and_at_most_so_many_are_given(house: Store) -> None:
    assert offered("cask", "%") == []
    assert offered("cask", "'") == []
    assert len(names_of(Named.CASK, "", None)) <= MOST


@pytest.mark.parametrize("content", [b"", b"no database at all" * 100])
def test_what_is_no_house_is_silence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, content: bytes
) -> None:
    (tmp_path / "x.sqlite").write_bytes(content)
    monkeypatch.setenv("OAKPANEL_DB", str(tmp_path / "x.sqlite"))
    assert offered("match", "") == []
    monkeypatch.setenv("OAKPANEL_DB", "postgresql://nowhere.invalid/x")
    assert offered("match", "") == []


def test_no_library_is_loaded_for_it(house: Store) -> None:
    done = subprocess.run(
        [sys.executable, "-c", LOADED], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "" or done.stdout.splitlines()[-1].strip() == ""
    assert done.stderr == ""
