"""How long the desk takes: first paint, opening 24,000 casks, scrolling, finding, ordering.

Run: .venv/bin/python tests/bench/bench_cask_list.py [CASKS]
"""

from __future__ import annotations

import asyncio
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path

from sqlalchemy import insert
from textual.pilot import Pilot

from panel.desk.app import DeskApp
from panel.desk.casks import CasksPage
from panel.kinds import GaugeMethod
from panel.questions.cask_narrowing import Flag, Narrowing
from panel.store.casks import (
    Cask,
    Filling,
    Make,
    Regauge,
)
from panel.store.engine import Store
from panel.store.opening import make_database
from panel.words.cask_words import narrowed_words

WOODS = ("American oak barrel", "European oak butt", "French oak barrique", "chestnut cask")
FIRST_PAINT = """
import asyncio, sys, time
started = time.process_time()
from panel.desk.app import DeskApp
took = []
class Timed(DeskApp):
    def open_up(self):
        took.append(1000 * (time.process_time() - started))
async def main():
    async with Timed(lambda: None).run_test(size=(80, 24)) as pilot:
        await pilot.pause()
asyncio.run(main())
print(round(took[0]))
"""
NARROWED = (
    Narrowing(woods=("European oak butt",)),
    Narrowing(makes=("Low Weir",)),
    Narrowing(flag=Flag.GAUGE),
    Narrowing(makes=("Low Weir",), woods=("European oak butt",), age_from=10.0, age_to=12.0),
)


@contextmanager
def timed(what: str) -> Iterator[None]:
    started, cpu = time.perf_counter(), time.process_time()
    yield
    took, cpu_took = time.perf_counter() - started, time.process_time() - cpu
    print(f"{what:<44} {1000 * took:8.1f} ms  (of it reckoning {1000 * cpu_took:8.1f})")


def fill(store: Store, count: int) -> None:
    with store.write() as db:
        db.add(Make(name="Low Weir", site="Sallow", cereal="barley", phenol_ppm=2.0))
        db.flush()
        numbers = range(1, count + 1)
        db.execute(
            insert(Cask),
            [
                {"id": n, "number": f"SW-{n:05d}", "wood": WOODS[n % 4], "size_l": 200.0}
                for n in numbers
            ],
        )
        db.execute(insert(Filling), [_filling(n) for n in numbers])
        db.execute(
            insert(Regauge),
            [
                {
                    "filling_id": n,
                    "gauged_on": date(2019, 1, 1) + timedelta(days=700 * k + n % 300),
                    "bulk_l": 190.0 - n % 40 - k,
                    "abv": 62.0 - n % 9,
                    "method": GaugeMethod.WEIGHED,
                }
                for n in numbers
                for k in range(3)
            ],
        )


def _filling(n: int) -> dict[str, object]:
    return {
        "id": n,
        "label": f"SW-{n:05d}/1",
        "cask_id": n,
        "make_id": 1,
        "filled_on": date(2008, 1, 1) + timedelta(days=n % 3650),
        "fill_number": 1 + n % 3,
        "fill_abv": 63.5,
        "fill_bulk_l": 195.0,
        "owner": "Fen and Daughters" if n % 50 == 0 else None,
        "site": "Sallow Weir",
        "warehouse": f"Shed {n % 9}",
        "row": str(n % 40),
        "tier": str(n % 5),
    }


async def read_all(desk: DeskApp, pilot: Pilot[None]) -> CasksPage:
    page = desk.screen
    assert isinstance(page, CasksPage)
    while not page.list.rows:
        await asyncio.sleep(0.005)
    await pilot.pause()
    return page


async def longest_wait(seconds: float) -> float:
    """Return the longest time that the event loop was held up, in ms."""
    longest, until = 0.0, time.perf_counter() + seconds
    while time.perf_counter() < until:
        before = time.perf_counter()
        await asyncio.sleep(0.002)
        longest = max(longest, 1000 * (time.perf_counter() - before) - 2)
    return longest


async def drive(store: Store, count: int) -> None:
    desk = DeskApp(store, by=None)
    async with desk.run_test(size=(120, 40)) as pilot:
        await pilot.pause(0.5)
        await desk.workers.wait_for_complete()
        waiting = asyncio.create_task(longest_wait(3.0))
        with timed(f"key 2 until {count:,} casks stand"):
            await pilot.press("2")
            page = await read_all(desk, pilot)
        print(f"{'longest hold-up of the screen meanwhile':<44} {await waiting:8.1f} ms")
        started, frames = time.process_time(), 200
        for frame in range(frames):
            page.list.cursor = frame * count // frames
            page.list.render_lines(page.list.size.region)
        each = 1000 * (time.process_time() - started) / frames
        print(f"{'one frame while jumping through the list':<44} {each:8.1f} ms")
        with timed("one key, down, until it stands"):
            await pilot.press("down")
        with timed("first search (two words)"):
            page.list.find("barrel fen")
        print(f"{'':<4}{len(page.list.shown):,} found")
        with timed("next search"):
            page.list.find("shed 7 barrel")
        page.list.find("")
        for asked in NARROWED:
            with timed(f"narrow to {narrowed_words(asked)}"):
                page.narrow(asked)
            print(f"{'':<4}{len(page.list.shown):,} left")
        with timed("find within what is left"):
            page.list.find("shed 7 barrel")
        page.list.find("")
        with timed("widen again"):
            page.narrow(Narrowing())
        with timed("order by litres"):
            page.list.action_order("L")
        with timed("order by number, natural"):
            page.list.action_order("C")


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 24_000
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bench.sqlite"
        store = make_database(str(path))
        with timed(f"made {count:,} casks, {3 * count:,} regauges"):
            fill(store, count)
        code = [sys.executable, "-c", FIRST_PAINT]
        first = [
            int(subprocess.run(code, capture_output=True, check=True).stdout) for _ in range(5)
        ]
        print(f"{'first paint of the desk, reckoning, best of 5':<44} {min(first):8.1f} ms")
        asyncio.run(drive(store, count))
        store.close()


if __name__ == "__main__":
    main()
