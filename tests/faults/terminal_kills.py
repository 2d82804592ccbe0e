"""The booth in a terminal killed at random moments, and a hand that signs in again and goes on.

    python -m tests.faults.terminal_kills 1000

The last line says how many kills there were, how many scores a screen showed as kept, how many of
them the records lack, and how many were done twice.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from panel.store.opening import make_database
from tests.faults.outcome import Change, Outcome, score_changes, tell
from tests.houses.at_the_booth import NAME, open_evening

ROOT = Path(__file__).parents[2]
LONGEST_S, EARLY_SHARE, EARLY_S = 0.1, 0.1, 1.0
"""A kill comes at most so long after a first score is kept, or in some lives after the start."""


@dataclass
class Eye:
    """Whoever looks at the screen: what it showed as kept, and what was typed last."""

    told: list[Change] = field(default_factory=list)
    typed: Change | None = None
    lost: list[str] = field(default_factory=list)
    """What stood as kept before a kill and not after it."""

    def see(self, line: str) -> None:
        what, _, rest = line.partition(" ")
        if what == "seated":
            self.come_back(json.loads(rest))
            return
        name, _, value = rest.rpartition(" ")
        if what == "typed":
            self.typed = (name, int(value))
        else:
            self.told.append((name, int(value)))
            self.typed = None

    def come_back(self, standing: dict[str, int]) -> None:
        """See the glass again: all that stood as kept stands there, and maybe what came last."""
        if self.typed is not None and standing.get(self.typed[0]) == self.typed[1]:
            self.told.append(self.typed)
        self.typed = None
        if standing != dict(self.told):
            self.lost.append(f"{standing} where {dict(self.told)} was kept")


@dataclass
class Nursery:
    """Starts booths that speak through a named pipe, and tells when one is dead."""

    process: subprocess.Popen[str]
    pipe: Path

    def live(self, seed: int, eye: Eye, killed_after: Random) -> None:
        """Let a booth live until it is killed."""
        self._write(f"{seed} {self.pipe}\n")
        number = int(self._line().removeprefix("started "))
        early = killed_after.random() < EARLY_SHARE
        after = killed_after.uniform(0, EARLY_S if early else LONGEST_S)
        killer = threading.Timer(after, os.kill, (number, signal.SIGKILL))
        if early:
            killer.start()
        with self.pipe.open(encoding="utf-8") as mouth:
            for line in mouth:
                if not line.endswith("\n"):
                    break
                eye.see(line.rstrip())
                if not early and line.startswith("kept ") and not killer.is_alive():
                    early = True
                    killer.start()
        if not early:
            raise RuntimeError("the booth ended by itself")
        killer.join()
        if self._line() != "dead":
            raise RuntimeError("the nursery is out of order")

    def _write(self, line: str) -> None:
        if self.process.stdin is None:
            raise RuntimeError("the nursery has no ear")
        self.process.stdin.write(line)
        self.process.stdin.flush()

    def _line(self) -> str:
        if self.process.stdout is None or not (line := self.process.stdout.readline()):
            raise RuntimeError("the nursery is gone")
        return line.strip()


@contextmanager
def nursery(database: str, folder: Path) -> Iterator[Nursery]:
    """Give a nursery of terminal booths."""
    os.mkfifo(folder / "mouth")
    words = [sys.executable, "-m", "tests.faults.terminal_nursery", database, NAME]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    with subprocess.Popen(words, cwd=ROOT, **pipes) as process:  # type: ignore[call-overload]
        yield Nursery(process, folder / "mouth")
        process.stdin.close()


def try_kills(kills: int, seed: int, folder: Path) -> Outcome:
    """Kill the booth so often in the midst of a glass, and return what the records hold."""
    chance, eye = Random(seed), Eye()
    with closing(make_database(str(folder / "house.sqlite"))) as store:
        open_evening(store)
        with nursery(str(store.url.database), folder) as booths:
            for life in range(kills):
                booths.live(seed + life, eye, chance)
        kept = score_changes(store)
    if eye.typed is not None and kept[-1:] == [eye.typed]:
        eye.told.append(eye.typed)  # it came to disk, and nobody signed in any more to see it
    if eye.lost:
        raise AssertionError(eye.lost)
    return Outcome("the booth in a terminal", kills, eye.told, kept)


if __name__ == "__main__":
    tell(try_kills, int(sys.argv[1]))
