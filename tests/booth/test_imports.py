"""What a running booth has loaded: nothing that reads the key, nothing heavy."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from panel.store.engine import Store

ROOT = Path(__file__).parents[2]
HEAVY = {"pandas", "numpy", "scipy", "sklearn", "alembic", "pydantic", "openpyxl"}
KEY_READERS = {"panel.store.key", "panel.store.draws", "panel.store.casks", "panel.store.tables"}

WHOLE_BOOTH = """
import asyncio, json, sys
from panel.booth.app import BoothApp
from panel.booth.hands import nose_by_keys, sign_in_by_keys
from panel.cli.booth import command
from panel.cli.invocation import Invocation

before = [name for name in ("sqlalchemy",) if name in sys.modules]

async def score():
    app = BoothApp(Invocation(named=sys.argv[1]).open)
    async with app.run_test(size=(80, 24)) as pilot:
        await sign_in_by_keys(pilot.app, "A1", "4821")
        await nose_by_keys(pilot.app, "538", {"oak": 31})

asyncio.run(score())
print(json.dumps([before, sorted(sys.modules)]))
"""
HELP = """
import json, sys
from panel.cli.main import group
group.main(["--help"], standalone_mode=False)
print(json.dumps(sorted(sys.modules)))
"""


def loaded_by(program: str, *arguments: str) -> str:
    ended = subprocess.run(
        [sys.executable, "-c", program, *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr
    return ended.stdout.splitlines()[-1]


def test_a_booth_that_scored_a_glass_loaded_nothing_that_reads_the_key(evening: Store) -> None:
    before, after = json.loads(loaded_by(WHOLE_BOOTH, str(evening.url.database)))
    assert before == []
    assert "panel.store.booth_queries" in after
    assert KEY_READERS.isdisjoint(after)
    assert HEAVY.isdisjoint(after)


def test_help_loads_neither_screens_nor_database_nor_numbers() -> None:
    after = set(json.loads(loaded_by(HELP)))
    assert (HEAVY | KEY_READERS | {"textual", "sqlalchemy"}).isdisjoint(after)
