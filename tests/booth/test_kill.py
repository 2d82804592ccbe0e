"""A booth that is killed the moment a score stands as kept."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

from panel.store.engine import Store
from tests.booth.sitting import booth, glass, sign_in_by_keys, values
from tests.houses.at_the_booth import PINS, Wall, kept_scores

SCORES_AND_IS_KILLED = """
import asyncio, os, signal, sys
from panel.booth.line_scale import Keeping
from panel.store.engine import connect, locate
from tests.houses.at_the_booth import Wall
from tests.booth.sitting import glass, keys, press, with_glass

async def score():
    async with with_glass(connect(locate(sys.argv[1])), Wall()) as app:
        await keys(app, *"62", "enter", *"10", "enter", "m", "1", "enter")
        assert [s.keeping for s in glass(app).scales[:2]] == [Keeping.KEPT, Keeping.KEPT]
        press(app, "7")
        os.kill(os.getpid(), signal.SIGKILL)

asyncio.run(score())
"""


async def test_after_a_kill_the_assessor_is_at_the_same_glass_with_every_kept_score(
    evening: Store, wall: Wall
) -> None:
    root = Path(__file__).parents[2]
    ended = subprocess.run(
        [sys.executable, "-c", SCORES_AND_IS_KILLED, str(evening.url.database)],
        cwd=root,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert ended.returncode == -signal.SIGKILL, ended.stderr
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62, "dried fruit": 10}
    async with booth(evening, wall) as app:
        await sign_in_by_keys(app, "A1", PINS["A1"])
        assert glass(app).glass.code == "538"
        assert list(values(app).values())[:3] == [62, 10, None]
        assert glass(app).at == 2
        assert glass(app).glass.faults == {"sulphur"}
