"""What it costs that the desk follows the log, and how soon a change elsewhere is shown.

Run: .venv/bin/python -m tests.bench.bench_following [SECONDS]

Prints, for a file and for a PostgreSQL server, the share of a core that a desk takes that nobody
touches, with and without following, on the list of sessions; the seconds from a change in another
transaction to the screen; and on the server the same after its line was cut.
"""

from __future__ import annotations

import asyncio
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import text

from panel.desk import following
from panel.desk.app import DeskApp
from panel.store.engine import Store
from panel.store.opening import make_database
from tests.desk.driving import seen, settle, signed_in
from tests.houses.at_the_desk import build
from tests.houses.parts import descriptor
from tests.servers import own_server

NEVER_S = 1e6
USUAL_S = following.LOOK_S
LOADED_AFTER_S = 12.0
CHANGES = 5
CUT = text(
    "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE query LIKE 'LISTEN %' "
    "AND datname = current_database()"
)
NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)


async def idle_share(store: Store, every_s: float, seconds: float) -> float:
    """Return the share of a core that an untouched desk takes."""
    following.LOOK_S = every_s
    desk = signed_in(DeskApp(store, by="LD", clock=lambda: NOW))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await asyncio.sleep(LOADED_AFTER_S)
        started = time.process_time()
        await asyncio.sleep(seconds)
        return (time.process_time() - started) / seconds


async def seconds_to_the_screen(store: Store, words: list[str], *, cut: bool = False) -> float:
    """Return how long the slowest of some words that are added elsewhere takes to the lexicon."""
    following.LOOK_S, took = USUAL_S, []
    desk = signed_in(DeskApp(store, by="LD", clock=lambda: NOW, start="lexicon"))
    async with desk.run_test(size=(80, 40)) as pilot:
        await settle(pilot)
        for word in words:
            await asyncio.sleep(1.5)
            with store.write() as db:
                if cut:
                    db.execute(CUT)
            with store.write() as db:
                db.add(descriptor(word))
            started = time.perf_counter()
            while word not in "\n".join(seen(desk)):
                await asyncio.sleep(0.02)
            took.append(time.perf_counter() - started)
    return max(took)


async def measure(store: Store, name: str, seconds: float) -> None:
    """Print the figures of one database."""
    build(store)
    print(name)
    still = await idle_share(store, NEVER_S, seconds)
    follows = await idle_share(store, USUAL_S, seconds)
    print(f"  share of a core, nobody there, not following  {100 * still:6.2f} %")
    print(f"  share of a core, nobody there, following      {100 * follows:6.2f} %")
    took = await seconds_to_the_screen(store, [f"word {each}" for each in range(CHANGES)])
    print(f"  a change elsewhere is on the screen after     {took:6.2f} s at the most of {CHANGES}")
    if store.url.get_backend_name() == "postgresql":
        words = [f"after {each}" for each in range(CHANGES)]
        took = await seconds_to_the_screen(store, words, cut=True)
        print(f"  the same, its line cut just before            {took:6.2f} s at the most")
    store.close()


def main(seconds: float) -> None:
    with tempfile.TemporaryDirectory() as place:
        store = make_database(str(Path(place) / "house.sqlite"))
        asyncio.run(measure(store, "a file", seconds))
    with own_server(hurried=False) as server:
        asyncio.run(measure(make_database(server.url), "a PostgreSQL server", seconds))


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 20.0)
