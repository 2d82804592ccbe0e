"""The server of booths killed and started again, and a page that sends on what it heard nothing of.

    python -m tests.faults.server_kills 1000

The last line says how many kills there were, how many deeds were answered as kept, how many of
them the records lack, and how many were done twice. The page is the queue of `booth.js` in a few
lines: one deed at a time, the same number until there is an answer.
"""

from __future__ import annotations

import os
import secrets
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from httpx2 import Client, Response, TransportError

from panel.store.opening import make_database
from tests.faults.outcome import Change, Outcome, score_changes, tell
from tests.houses.at_the_booth import CODES, NAME, PINS, WORDS, open_evening
from tests.serve.browsing import read

ROOT = Path(__file__).parents[2]
LONGEST_S = 0.08
"""A kill comes at most so long after a deed was sent first."""
DEEDS_A_KILL = 3


@dataclass
class Nursery:
    """Starts servers at one port and kills them."""

    process: subprocess.Popen[str]
    port: int
    running: int = 0

    def start(self) -> str:
        """Start a server and return its join code."""
        self._told("next")
        self.running = int(self._line("started ")[len("started ") :])
        return self._line("Join code: ")[len("Join code: ") :]

    def kill(self) -> None:
        os.kill(self.running, signal.SIGKILL)

    def _told(self, line: str) -> None:
        if self.process.stdin is None:
            raise RuntimeError("the nursery has no ear")
        self.process.stdin.write(f"{line}\n")
        self.process.stdin.flush()

    def _line(self, begins: str) -> str:
        for line in self.process.stdout or ():
            if line.startswith(begins):
                return line.strip()
        raise RuntimeError("the nursery is gone")


@contextmanager
def nursery(database: str) -> Iterator[Nursery]:
    """Give a nursery at a port that is free."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = [sys.executable, "-m", "tests.faults.server_nursery", database, NAME, str(port)]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    with subprocess.Popen(words, cwd=ROOT, **pipes) as process:  # type: ignore[call-overload]
        kept = Nursery(process, port)
        try:
            yield kept
        finally:
            kept.kill()
            process.stdin.close()


@dataclass
class Page:
    """A page: what it holds, and what was told it as kept."""

    client: Client
    port: int
    forms: dict[str, dict[str, str]] = field(default_factory=dict)
    told: list[Change] = field(default_factory=list)
    """Line and value of each deed that was answered, in its order."""
    troubles: list[str] = field(default_factory=list)
    """What a page said that could not be done just then."""

    def get(self) -> Response:
        return self._asked("GET", "/", {})

    def post(self, path: str, fields: dict[str, str]) -> Response:
        return self._asked("POST", path, fields)

    def _asked(self, how: str, path: str, fields: dict[str, str]) -> Response:
        """Ask until there is an answer: a line that drops says nothing of what was done."""
        while True:
            try:
                page = self.client.request(how, path, data=fields or None)
            except TransportError:
                time.sleep(0.005)
                continue
            found = read(page)
            if page.status_code < 500:
                self.forms = found.forms
                return page
            self.troubles.append(found.said)

    def sit_down(self, code: str, who: str = "A1") -> None:
        self.get()
        self.post("/join", {**self.forms["/join"], "code": code})
        self.post("/sign-in", {**self.forms["/sign-in"], "code": who, "pin": PINS[who]})
        taken = {**self.forms["take"], "code": CODES[0], "sure": CODES[0]}
        self.post("/deed", taken)

    def score(self, line: int, value: int) -> None:
        form = {name: self.forms["scores"][name] for name in ("deed", "glass", "form")}
        deed = {**form, f"line-{line}": str(value), "number": secrets.token_hex(16)}
        if self.post("/deed", deed).status_code == 200:
            self.told.append((WORDS[line - 1][0], value))


def try_kills(kills: int, seed: int, folder: Path) -> Outcome:
    """Kill the server so often in the midst of a session, and return what the records hold."""
    chance = Random(seed)
    with closing(make_database(str(folder / "house.sqlite"))) as store:
        open_evening(store)
        with nursery(str(store.url.database)) as servers:
            code = servers.start()
            base = f"http://127.0.0.1:{servers.port}"
            with Client(base_url=base, headers={"origin": base}, follow_redirects=True) as client:
                page = Page(client, servers.port)
                page.sit_down(code)
                for _ in range(kills):
                    _one_kill(servers, page, chance)
                page.get()
        return Outcome("the server", kills, page.told, score_changes(store))


def _one_kill(servers: Nursery, page: Page, chance: Random) -> None:
    def kill_and_start() -> None:
        time.sleep(chance.uniform(0, LONGEST_S))
        servers.kill()
        servers.start()

    killer = threading.Thread(target=kill_and_start)
    killer.start()
    for _ in range(DEEDS_A_KILL):
        page.score(chance.randint(1, 10), chance.randint(0, 100))
    killer.join()


if __name__ == "__main__":
    tell(try_kills, int(sys.argv[1]))
