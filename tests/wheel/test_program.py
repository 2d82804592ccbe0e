"""The program out of the wheel, with the other library beside it, works as out of a checkout."""

from __future__ import annotations

import gzip
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.wheel.environments import ROOT, Environment

pytestmark = pytest.mark.wheel
OLDEST = ROOT / "tests" / "old_houses" / "house_0001.sqlite.gz"
Asked = Callable[..., Any]


@pytest.fixture
def ask(installed: Environment, tmp_path: Path) -> Asked:
    """Give a way to ask the installed program, in a folder that holds the oldest house."""
    (tmp_path / "old.sqlite").write_bytes(gzip.decompress(OLDEST.read_bytes()))

    def ask(house: str, *words: str) -> Any:
        return json.loads(installed.oakpanel("--db", house, *words, "--json", cwd=tmp_path))

    return ask


@pytest.mark.slow
def test_it_upgrades_the_oldest_house(ask: Asked) -> None:
    assert ask("old.sqlite", "db", "upgrade")["revision"] > "0001"
    levels = {one["level"] for one in ask("old.sqlite", "db", "check")["findings"]}
    assert "fault" not in levels


@pytest.mark.slow
def test_a_workbook_goes_from_one_house_to_the_next(ask: Asked) -> None:
    ask("old.sqlite", "db", "upgrade")
    ask("old.sqlite", "save", "makes", "makes.xlsx")
    ask("new.sqlite", "db", "init", "--lead", "PL")
    loaded = ask("new.sqlite", "load", "makes", "makes.xlsx")
    assert loaded["problems"] == []
    assert loaded["accepted"] > 0
    assert ask("new.sqlite", "load", "makes", "makes.xlsx")["unchanged"] == loaded["accepted"]
