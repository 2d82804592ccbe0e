"""A browser killed at random moments and opened again: what it held comes back, and once.

    python -m tests.faults.browser_kills 1000

In every other life the line drops after a first score: what is typed from then on stands in the
page as not kept yet, and has to be offered after the kill. The last line says how many kills there
were, how many scores were shown as kept (those that were offered among them), how many of them the
records lack, and how many were done twice.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from playwright.sync_api import Error, Page, Playwright, sync_playwright

from panel.clock import utc_now
from panel.seat.arriving import session_of_booths
from panel.serve.door import make_door
from panel.serve.served import Served
from panel.store.opening import make_database
from tests.faults.outcome import Change, Outcome, score_changes, tell
from tests.houses.at_the_booth import CODES, NAME, PINS, WORDS, open_evening
from tests.serve.touching import Running

LONGEST_S = 0.8
"""A kill comes at most so long after a first score is kept."""
OPENS_WITHIN_S = 60
LISTENS = re.compile(r"DevTools listening on (ws://\S+)")
OPTIONS = (
    *("--headless=new", "--no-sandbox", "--no-first-run", "--disable-gpu"),
    *("--disable-background-networking", "--disable-extensions", "--remote-debugging-port=0"),
)
LINES = [name for name, _ in WORDS]


def chromium() -> str | None:
    """Return the distribution's Chromium, None where there is none."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


@dataclass
class Window:
    """A browser of a process group of its own, on a folder that outlives it."""

    process: subprocess.Popen[bytes]
    page: Page

    def kill(self) -> None:
        os.killpg(self.process.pid, signal.SIGKILL)


@contextmanager
def open_window(driver: Playwright, folder: Path) -> Iterator[Window]:
    """Open the browser as whoever takes up the tablet does; it is dead at the end."""
    said = folder / "said"
    words = [str(chromium()), *OPTIONS, f"--user-data-dir={folder / 'profile'}", "about:blank"]
    with said.open("wb") as err:
        process = subprocess.Popen(words, stderr=err, start_new_session=True)
    try:
        until = time.monotonic() + OPENS_WITHIN_S
        while (found := LISTENS.search(said.read_text(errors="replace"))) is None:
            if time.monotonic() > until:
                raise RuntimeError(f"the browser does not open: {said.read_text()}")
            time.sleep(0.02)
        browser = driver.chromium.connect_over_cdp(found[1])
        page = browser.contexts[0].pages[0]
        page.set_default_timeout(1000 * OPENS_WITHIN_S)
        yield Window(process, page)
    finally:
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()


@dataclass
class Hand:
    """Whoever sits there: what was shown as kept, what as not kept yet, what was typed last."""

    chance: Random
    told: list[Change] = field(default_factory=list)
    held: list[Change] = field(default_factory=list)
    typed: Change | None = None
    faults: list[str] = field(default_factory=list)

    def sit_down(self, page: Page, running: Running) -> None:
        """Come to the glass by whatever pages ask for, and see what was held and what stands."""
        page.goto(running.served.door.origin)
        about = self.comes_to(page, "")
        while not about.startswith("glass"):
            if about.startswith("sign in"):
                page.fill("#pin", PINS["A1"])
            code = {"join": running.served.joining.code, "between": CODES[0]}
            page.fill("#code", code.get(about.split()[0], "A1"))
            page.click("#take button" if about.startswith("between") else "button.main")
            about = self.comes_to(page, about)
        self.come_back(page)

    def comes_to(self, page: Page, before: str) -> str:
        """Wait until a page is about something else, and return what; one way or another."""
        about = page.wait_for_function(ABOUT, arg=before)
        return str(about.json_value())

    def come_back(self, page: Page) -> None:
        """Keep what the page offers, which has to be all that it held."""
        offered = page.locator("#leftover li").all_text_contents()
        wanted = [f"{CODES[0]} {name} {value}" for name, value in self.held]
        if offered[: len(wanted)] != wanted:
            self.faults.append(f"held {wanted}, offered {offered}")
        if offered:
            page.click("#keep")
        for row, name in enumerate(LINES):
            waits = [value for held, value in [*self.held, *self.last()] if held == name]
            if waits and f"{CODES[0]} {name} {waits[-1]}" in offered:
                self.see_kept(page, row, waits[-1])
        self.told += self.held
        self.told += [one for one in self.last() if self.stands(page, one)]
        self.held, self.typed = [], None
        standing = {name: self.value(page, row) for row, name in enumerate(LINES)}
        if {name: value for name, value in standing.items() if value} != dict(
            (name, str(value)) for name, value in self.told
        ):
            self.faults.append(f"{standing} where {self.told} was kept")

    def last(self) -> list[Change]:
        return [] if self.typed is None else [self.typed]

    def stands(self, page: Page, change: Change) -> bool:
        return self.value(page, LINES.index(change[0])) == str(change[1])

    def value(self, page: Page, row: int) -> str:
        return page.locator(".line .value").nth(row).input_value()

    def see_kept(self, page: Page, row: int, value: int) -> None:
        """Wait until a line shows that a value is kept."""
        page.wait_for_function(KEPT, arg=[row, str(value), "kept "])

    def type(self, page: Page, row: int) -> Change:
        """Put another value on a line."""
        now = self.value(page, row)
        value = self.chance.choice([each for each in range(1, 101) if str(each) != now])
        self.typed = (LINES[row], value)
        field = page.locator(".line .value").nth(row)
        field.fill(str(value))
        field.press("Enter")
        return self.typed

    def score(self, page: Page) -> None:
        """Set a line, and see that it is kept."""
        row = self.chance.randrange(len(LINES))
        change = self.type(page, row)
        self.see_kept(page, row, change[1])
        self.told.append(change)
        self.typed = None

    def score_without_line(self, page: Page, row: int) -> None:
        """Set a line while nothing answers, and see that it is not kept yet."""
        change = self.type(page, row)
        page.wait_for_function(KEPT, arg=[row, str(change[1]), "! not kept yet"])
        self.held.append(change)
        self.typed = None


ABOUT = """before => {
  const about = document.body?.dataset.about;
  return document.documentElement?.classList.contains("runs") && about !== before && about;
}"""
KEPT = """([row, value, words]) => {
  const line = document.querySelectorAll(".line")[row];
  return line.querySelector(".value").value === value
    && line.querySelector(".kept").textContent.startsWith(words);
}"""


def try_kills(kills: int, seed: int, folder: Path) -> Outcome:
    """Kill the browser so often in the midst of a glass, and return what the records hold."""
    chance, hand = Random(seed), Hand(Random(seed))
    with closing(make_database(str(folder / "house.sqlite"))) as store:
        open_evening(store)
        session = session_of_booths(store, NAME)
        running = Running(Served(store, session, make_door("127.0.0.1", 0), utc_now))
        running.start()
        try:
            with sync_playwright() as driver:
                for life in range(kills):
                    with open_window(driver, folder) as window:
                        _one_life(window, running, hand, chance, cut=life % 2 == 1)
                with open_window(driver, folder) as window:
                    hand.sit_down(window.page, running)
        finally:
            running.stop()
        if hand.faults:
            raise AssertionError(hand.faults)
        return Outcome("the browser", kills, hand.told, score_changes(store))


def _one_life(window: Window, running: Running, hand: Hand, chance: Random, *, cut: bool) -> None:
    """Let a browser live until it is killed; in some lives its line drops before."""
    killer = threading.Timer(chance.uniform(0, LONGEST_S), window.kill)
    rows = chance.sample(range(len(LINES)), len(LINES))
    hand.sit_down(window.page, running)
    hand.score(window.page)
    with suppress(Error):
        if cut:
            window.page.context.set_offline(True)
        killer.start()
        while True:
            if not cut:
                hand.score(window.page)
            elif rows:
                hand.score_without_line(window.page, rows.pop())
            else:
                window.page.wait_for_timeout(1000)
    killer.join()


if __name__ == "__main__":
    tell(try_kills, int(sys.argv[1]))
