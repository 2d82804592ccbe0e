"""The desk by its keys: how many lead to a first sealed session, and how long each takes to paint.

    python -m tests.bench.bench_desk_keys [FILES] [CASKS]

FILES is a folder of a house's own files (those that the demo leaves, without scores and targets;
built first where none is named). The desk is begun with no database and driven to a session that
is sealed: six draws, ten notes, everybody noses. Keys are told by where they go; those that type a
name or a PIN are told apart. Then, beside as many casks (25,000 otherwise): one key to the screen,
words to find and a narrowing as they are typed, a page on an answer that is kept, and the first
paint. Times are of the processor; the clock's stand beside them, for a busy machine.
"""

from __future__ import annotations

import asyncio
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

from textual.pilot import Pilot

from panel.cli.demo_evening import LEAD
from panel.cli.demo_evening import PIN as DEMO_PIN
from panel.desk.app import DeskApp
from panel.desk.beginning import Beginning
from panel.desk.casks import CasksPage
from panel.desk.session_page import SessionPage
from panel.store.engine import Store
from panel.store.opening import make_database, open_store
from tests.bench.bench_cask_list import FIRST_PAINT, fill, read_all
from tests.desk.driving import is_calm, key_event, press, settle

RUN = "from panel.cli.main import run; run()"
BRINGS = ("makes", "casks", "regauges", "events", "draws", "lexicon", "assessors")
PIN = "271828"
AT = datetime(2026, 11, 29, 9, 0, tzinfo=UTC)
ASKED_KEYS, ASKED_MS = 40, {"key": 20, "find": 50, "narrow": 50, "kept": 150, "first": 300}


@dataclass
class Tally:
    """Keys by where they go; what is typed as a name or a PIN is counted by itself."""

    pilot: Pilot[Any]
    keys: list[tuple[str, str]] = field(default_factory=list)
    typed: int = 0

    async def go(self, where: str, *keys: str) -> None:
        """Press keys that lead on."""
        self.keys += [(where, key) for key in keys]
        await press(self.pilot, *keys)

    async def type(self, text: str) -> None:
        """Type a name or a PIN."""
        self.typed += len(text)
        await press(self.pilot, *text)

    def told(self) -> Iterator[str]:
        """Give a line for each stretch."""
        places = list(dict.fromkeys(where for where, _ in self.keys))
        for place in places:
            held = [key for where, key in self.keys if where == place]
            yield f"{place:<44} {len(held):>3}  {' '.join(held)}"


async def to_a_sealed_session(tally: Tally) -> None:
    """From no database to a session that is sealed."""
    await tally.go("which beginning: from files", "down", "enter")
    await tally.type("LD")
    await tally.go("the house: make it", "f8")
    for _ in ("once", "again"):
        await tally.type(PIN)
        await tally.go("the lead's PIN, twice", "enter")
    await tally.go("the folder: here; bring it in", "f8", "y")
    await tally.type(PIN)
    await tally.go("the PIN that roles ask for", "enter")
    await tally.go("what was brought in; the first steps", "escape", "escape")
    await tally.go("a new session", "n")
    await tally.type("Monday")
    await tally.go("everybody noses", "down", "enter", "t", "enter")
    await tally.go("six draws", "enter", *["space"] * 6, "enter")
    await tally.go("ten notes", "enter", *["space"] * 10, "enter")
    await tally.go("plan and keep it", "f8", "y")
    await tally.go("seal it, and read its hash", "s", "y", "escape")


async def count_keys(files: Path, folder: Path) -> None:
    """Drive a desk without a database, and tell the keys."""
    path, place = folder / "house.sqlite", Path.cwd()
    begun = Beginning(lambda: make_database(str(path)), lambda: str(path), "demo", "")
    desk = DeskApp(lambda: open_store(str(path)), clock=lambda: AT, begun=begun)
    os.chdir(files)
    try:
        async with desk.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            tally = Tally(pilot)
            await to_a_sealed_session(tally)
            page = desk.screen
            stage = page.told.stage if isinstance(page, SessionPage) and page.told else page
    finally:
        os.chdir(place)
    print("\n".join(tally.told()))
    print(f"{'keys in all, names and PINs apart':<44} {len(tally.keys):>3}  (asked {ASKED_KEYS})")
    print(f"{'typed as names and PINs':<44} {tally.typed:>3}  the session is {stage}")


@dataclass
class Spent:
    """What some runs took, in ms."""

    cpu: list[float] = field(default_factory=list)
    clock: list[float] = field(default_factory=list)

    @contextmanager
    def timed(self) -> Iterator[None]:
        """Add one run."""
        clock, cpu = time.perf_counter(), time.process_time()
        yield
        self.cpu.append(1000 * (time.process_time() - cpu))
        self.clock.append(1000 * (time.perf_counter() - clock))

    def told(self, what: str, asked: int) -> str:
        """Return the medians."""
        cpu, clock = statistics.median(self.cpu), statistics.median(self.clock)
        first = f", the first {self.cpu[0]:.1f}" if len(self.cpu) > 1 else ""
        return f"{what:<44} {cpu:>6.1f} ms  (clock {clock:.1f}{first}; asked {asked})"


async def painted(pilot: Pilot[Any], keys: Sequence[str], spent: Spent) -> None:
    """Press each key and wait until the screen shows what it led to."""
    for key in keys:
        with spent.timed():
            pilot.app.post_message(key_event(key))
            await pilot.pause(0)
            await until(pilot, lambda: is_calm(pilot.app))


async def until(pilot: Pilot[Any], reached: Callable[[], bool]) -> None:
    """Let the app work until something is so."""
    for _ in range(20_000):
        if reached():
            return
        await asyncio.sleep(0.001)
    raise RuntimeError("it does not come to be so")


async def time_keys(store: Store) -> None:
    """Move, find and narrow in a long list."""
    desk = DeskApp(store, by=None)
    moved, found, narrowed = Spent(), Spent(), Spent()
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("2")
        page = await read_all(desk, pilot)
        held = len(page.list.rows)
        await desk.workers.wait_for_complete()
        await painted(pilot, ["down"] * 30 + ["pagedown"] * 5 + ["up"] * 15, moved)
        await painted(pilot, ["slash"], Spent())
        await painted(pilot, [*"barrel", "space", *"fen"], found)
        await painted(pilot, ["escape"], Spent())
        assert isinstance(page, CasksPage)
        for flag in page.index.flags:
            with narrowed.timed():
                page.narrow(page.asked.__class__(flag=flag))
                await until(pilot, lambda: is_calm(desk))
        for wood in page.index.woods:
            with narrowed.timed():
                page.narrow(page.asked.__class__(woods=(wood,)))
                await until(pilot, lambda: is_calm(desk))
    print(moved.told(f"a key, among {held:,} casks", ASKED_MS["key"]))
    print(found.told("a letter of words to find", ASKED_MS["find"]))
    print(narrowed.told("narrowed to a flag or a wood", ASKED_MS["narrow"]))


async def time_kept(store: Store, target: str) -> None:
    """Open a target's page of which the answer is kept."""
    spent = Spent()
    for _ in range(3):
        desk = DeskApp(store, by=LEAD, start="targets")
        async with desk.run_test(size=(80, 24)) as pilot:
            await settle(pilot)
            await press(pilot, *DEMO_PIN, "enter")
            await desk.workers.wait_for_complete()
            with spent.timed():
                pilot.app.post_message(key_event("enter"))
                await until(pilot, partial(ranked, desk))
                await until(pilot, partial(is_calm, desk))
    print(spent.told(f"the page of {target}, its answer kept", ASKED_MS["kept"]))


def ranked(desk: DeskApp) -> bool:
    """Tell whether the casks of a target stand on its page."""
    return getattr(desk.screen, "match", None) is not None


def main() -> None:
    """Count keys, then time them."""
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 25_000
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.environ["OAKPANEL_STATE"] = str(folder / "state")
        demo = folder / "demo"
        subprocess.run(
            [sys.executable, "-c", RUN, "demo", "--at", str(demo)],
            check=True,
            capture_output=True,
        )
        own = Path(sys.argv[1]) if len(sys.argv) > 1 else demo / "files"
        files = folder / "files"
        files.mkdir()
        for kind in BRINGS:
            shutil.copy(own / f"{kind}.csv", files)
        asyncio.run(count_keys(files, folder))
        asyncio.run(time_kept(open_store(str(demo / "panel.sqlite")), "the demo's target"))
        large = make_database(str(folder / "large.sqlite"))
        fill(large, count)
        asyncio.run(time_keys(large))
        code = [sys.executable, "-c", FIRST_PAINT]
        first = Spent()
        for _ in range(5):
            clock = time.perf_counter()
            done = subprocess.run(code, capture_output=True, check=True)
            first.clock.append(1000 * (time.perf_counter() - clock))
            first.cpu.append(float(done.stdout))
        print(first.told("first paint of the desk, from the bare process", ASKED_MS["first"]))


if __name__ == "__main__":
    main()
