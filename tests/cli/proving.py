"""A house whose people have PINs, `oakpanel` on it, and somebody who types at a terminal."""

from __future__ import annotations

from pathlib import Path

import click
import pytest

from panel.kinds import Role
from panel.store.engine import Store
from panel.store.log import LogEntry
from tests.cli.calling import Call, caller
from tests.houses.parts import person
from tests.houses.pins import give_pins


@pytest.fixture
def house(store: Store) -> Store:
    with store.write() as db:
        db.add(person("LD", Role.LEAD, Role.BLENDER))
        db.add(person("W1", Role.BLENDER))
        db.add(person("A1"))
    give_pins(store)
    return store


@pytest.fixture
def oakpanel(
    house: Store,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> Call:
    monkeypatch.setenv("OAKPANEL_STATE", str(tmp_path / "state"))
    monkeypatch.delenv("OAKPANEL_BY", raising=False)
    return caller(capsys, monkeypatch, "--db", str(house.url.database), "--by", "LD")


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Sit at a terminal: what is in the list is typed, in its order."""
    answers: list[str] = []
    monkeypatch.setattr("panel.cli.proving.at_terminal", lambda: True)
    monkeypatch.setattr(click.termui, "hidden_prompt_func", lambda _prompt: answers.pop(0))
    return answers


def entries(store: Store) -> list[str]:
    with store.read() as db:
        return [entry.body_json or "" for entry in db.query(LogEntry).order_by(LogEntry.id)]
