"""What it costs that the desk follows the log, and how soon a change elsewhere is shown.

Run: .venv/bin/python -m tests.bench.bench_following [SECONDS]

Prints the share of a core that a desk takes that nobody touches, with and without following, on
the list of sessions; and the seconds from a change in another process's transaction to the screen.
"""

from __future__ import annotations

import asyncio
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

from panel.desk import following
from panel.desk.app import DeskApp
from panel.store.engine import Store
from panel.store.opening import make_database
from tests.desk.driving import seen, settle, signed_in
from tests.houses.at_the_desk import build
from tests.houses.parts import descriptor

NEVER_S = 1e6
NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)


async def idle_share(store: Store, every_s: float, seconds: float) -> float:
    """Return the share of a core that an untouched desk takes."""
    following.LOOK_S = every_s
    desk = signed_in(DeskApp(store, by="LD", clock=lambda: NOW))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await asyncio.sleep(3.0)  # the libraries are loaded by then
        started = time.process_time()
        await asyncio.sleep(seconds)
        return (time.process_time() - started) / seconds


async def seconds_to_the_screen(store: Store, word: str) -> float:
    """Return how long a word that is added elsewhere takes to the list of the lexicon."""
    desk = signed_in(DeskApp(store, by="LD", clock=lambda: NOW, start="lexicon"))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        with store.write() as db:
            db.add(descriptor(word))
        started = time.perf_counter()
        while word not in "\n".join(seen(desk)):
            await asyncio.sleep(0.02)
        return time.perf_counter() - started


async def measure(folder: Path, seconds: float) -> None:
    """Print the figures."""
    store = make_database(str(folder / "house.sqlite"))
    build(store)
    usual = following.LOOK_S
    still = await idle_share(store, NEVER_S, seconds)
    following_share = await idle_share(store, usual, seconds)
    print(f"share of a core, nobody there, not following  {100 * still:6.2f} %")
    print(f"share of a core, nobody there, following      {100 * following_share:6.2f} %")
    print(f"so following takes                            {100 * (following_share - still):6.2f} %")
    took = [await seconds_to_the_screen(store, f"word {number}") for number in range(5)]
    print(f"a change elsewhere is on the screen after     {max(took):6.2f} s at the most of 5")
    store.close()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        asyncio.run(measure(Path(place), float(sys.argv[1]) if len(sys.argv) > 1 else 20.0))
