"""The plain booth killed at random moments, and a hand that signs in again and goes on.

    python -m tests.faults.plain_kills 1000

The last line says how many kills there were, how many scores were said as kept, how many of them
the records lack, and how many were done twice. The hand types what was neither said as kept before
the kill nor read out as standing after it: as a person does.
"""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import IO

from panel.store.opening import make_database
from tests.faults.outcome import Outcome, score_changes, tell
from tests.houses.at_the_booth import CODES, NAME, PINS, WORDS, open_evening

ROOT = Path(__file__).parents[2]
LONGEST_S, EARLY_SHARE = 0.06, 0.2
"""A kill comes at most so long after a first score is kept, or in some lives after the start."""
LINES = [name for name, _ in WORDS]
KEPT = re.compile(r"(.+) (\d+), kept [0-9:]+\.")
AT_THE_END = re.compile(r"Every line is scored\.|\d+ lines? (is|are) still blank\.")
STANDS = re.compile(r"From .* Now (?:(\d+), kept [0-9:]+|blank)\.")


class Killed(Exception):
    """The booth says nothing more."""


@dataclass
class Booth:
    """One booth: its pipes and its process."""

    number: int
    ear: IO[str]
    mouth: IO[str]
    heard: list[str] = field(default_factory=list)

    def type(self, answer: str) -> None:
        try:
            self.ear.write(f"{answer}\n")
            self.ear.flush()
        except BrokenPipeError:
            raise Killed from None

    def hear(self) -> str:
        line = self.mouth.readline()
        if not line.endswith("\n"):
            raise Killed
        self.heard.append(line.rstrip())
        return line.rstrip()

    def until(self, words: str) -> str:
        while words not in (line := self.hear()):
            pass
        return line

    def asked(self) -> re.Match[str] | None:
        """Hear on until a line is asked for, and return what stands on it; None at the end."""
        while (found := STANDS.fullmatch(line := self.hear())) is None:
            if AT_THE_END.match(line):
                return None
        return found

    def close(self) -> None:
        for pipe in (self.ear, self.mouth):
            try:
                pipe.close()
            except BrokenPipeError:
                continue


@dataclass
class Nursery:
    """Starts booths and kills them."""

    process: subprocess.Popen[str]
    folder: Path

    def start(self) -> Booth:
        self._write(f"{self.folder / 'ear'} {self.folder / 'mouth'}\n")
        number = int(self._line().removeprefix("started "))
        ear = (self.folder / "ear").open("w", encoding="utf-8")
        return Booth(number, ear, (self.folder / "mouth").open(encoding="utf-8"))

    def bury(self, booth: Booth) -> None:
        """Close the pipes of a booth, which ends it where it lives, and wait until it is dead."""
        booth.close()
        self._line()

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
    """Give a nursery whose booths hear and speak through two named pipes."""
    for name in ("ear", "mouth"):
        os.mkfifo(folder / name)
    words = [sys.executable, "-m", "tests.faults.plain_nursery", database, NAME]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    with subprocess.Popen(words, cwd=ROOT, **pipes) as process:  # type: ignore[call-overload]
        yield Nursery(process, folder)
        process.stdin.close()


@dataclass
class Hand:
    """Whoever sits there: what they typed last, and what was told them as kept."""

    chance: Random
    told: list[tuple[str, int]] = field(default_factory=list)
    typed: tuple[str, int] | None = None
    """A score that was typed and of which nothing was said yet."""

    def sit_down(self, booth: Booth) -> None:
        """Sign in, take the glass up where it is not in hand, and hear of what was typed last."""
        for asked, answer in (("Your code", "A1"), ("Your PIN", PINS["A1"])):
            booth.until(asked)
            booth.type(answer)
        while "is in your hand" not in (line := booth.hear()):
            if line.startswith("Type the three digits"):
                booth.type(CODES[0])
        booth.asked()
        if self.typed is not None:
            if self.stands(booth, self.typed[0]) == self.typed[1]:
                self.told.append(self.typed)
            self.typed = None

    def stands(self, booth: Booth, line: str) -> int | None:
        """Go to a line and return what stands on it."""
        booth.type(f"line {LINES.index(line) + 1}")
        found = booth.asked()
        if found is None or f", {line}: " not in booth.heard[-2]:
            raise RuntimeError(booth.heard[-1])
        return int(found[1]) if found[1] else None

    def score(self, booth: Booth) -> None:
        """Type another value on some line, and hear that it is kept."""
        line = self.chance.choice(LINES)
        now = self.stands(booth, line)
        self.typed = (line, self.chance.choice([value for value in range(101) if value != now]))
        booth.type(str(self.typed[1]))
        found = KEPT.fullmatch(booth.hear())
        if found is None or (found[1], int(found[2])) != self.typed:
            raise RuntimeError(booth.heard[-1])
        self.told.append(self.typed)
        self.typed = None
        booth.asked()


def try_kills(kills: int, seed: int, folder: Path) -> Outcome:
    """Kill the booth so often in the midst of a glass, and return what the records hold."""
    chance = Random(seed)
    hand = Hand(Random(seed))
    with closing(make_database(str(folder / "house.sqlite"))) as store:
        open_evening(store)
        with nursery(str(store.url.database), folder) as booths:
            for _ in range(kills):
                _one_life(booths, hand, chance)
            last = booths.start()
            hand.sit_down(last)
            booths.bury(last)
        return Outcome("the plain booth", kills, hand.told, score_changes(store))


def _one_life(booths: Nursery, hand: Hand, chance: Random) -> None:
    """Let a booth live until it is killed: at its sign-in, or while scores are typed."""
    booth = booths.start()
    killer = threading.Timer(chance.uniform(0, LONGEST_S), os.kill, (booth.number, signal.SIGKILL))
    with suppress(Killed):
        if early := chance.random() < EARLY_SHARE:
            killer.start()
        hand.sit_down(booth)
        if not early:
            hand.score(booth)
            killer.start()
        while True:
            hand.score(booth)
    killer.join()
    booths.bury(booth)


if __name__ == "__main__":
    tell(try_kills, int(sys.argv[1]))
