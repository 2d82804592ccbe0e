"""A line terminal: lines go out whole, a line comes in at Enter. Nothing is redrawn or coloured.

What is typed shows only while it is asked for: a hand that is faster than the booth would
otherwise type its PIN in the clear.
"""

from __future__ import annotations

import os
import re
import select
import signal
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol

READ_BYTES = 4096
ESCAPES = re.compile(r"\x1b(\[[0-9;]*[ -/]*[@-~]|O[A-Z]|.)?")
"""What arrow keys and the like send: no part of an answer."""


class InputEnded(Exception):
    """Nobody answers any more: the input ended, ctrl-c was pressed, or nobody listens."""


class Terminal(Protocol):
    """Where a plain booth speaks and listens."""

    def say(self, line: str) -> None:
        """Say one fact."""

    def hear(self, within_s: float | None = None, *, unseen: bool = False) -> str | None:
        """Return a line once it is typed; None after so many seconds without one.

        Raises
        ------
        InputEnded
            There will be no more.
        """


def plain_text(text: str) -> str:
    """Return a text without what a terminal would obey."""
    without = ESCAPES.sub("", text.replace("\t", " "))
    return "".join(sign for sign in without if sign.isprintable()).strip()


class LineTerminal:
    """The terminal, or two pipes, that a command was started with."""

    def __init__(self, ear: int, mouth: int, encoding: str = "utf-8") -> None:
        self._ear, self._mouth, self._encoding = ear, mouth, encoding
        self._heard = b""
        self._listening = self._stopped = self._deaf = False

    def say(self, line: str) -> None:
        """Write one fact; a text of several lines is several facts."""
        for part in line.splitlines():
            self._write(f"{plain_text(part)}\n".encode(self._encoding, "replace"))

    def _write(self, left: bytes) -> None:
        while left and not self._deaf:
            try:
                left = left[os.write(self._mouth, left) :]
            except OSError as error:
                self._deaf = True
                raise InputEnded from error

    def hear(self, within_s: float | None = None, *, unseen: bool = False) -> str | None:
        """Wait for a line. What was begun and not ended by Enter counts for nothing."""
        self._show(not unseen)
        self._listening = True
        try:
            if self._stopped:
                raise InputEnded
            line = self._line(within_s)
        except KeyboardInterrupt as error:
            self._write(b"\n")
            raise InputEnded from error
        finally:
            self._listening = False
        if line is None:
            return None
        self._show(False)
        return plain_text(line.decode(self._encoding, "replace"))

    def _line(self, within_s: float | None) -> bytes | None:
        until = None if within_s is None else time.monotonic() + within_s
        while b"\n" not in self._heard:
            if not self._ready(until):
                return None
            part = os.read(self._ear, READ_BYTES)
            if not part:
                raise InputEnded
            self._heard += part
        line, _, self._heard = self._heard.partition(b"\n")
        return line

    def _ready(self, until: float | None) -> bool:
        if sys.platform == "win32":  # a console there cannot be waited for
            return True
        left = None if until is None else max(until - time.monotonic(), 0)
        return bool(select.select([self._ear], [], [], left)[0])

    def _show(self, shown: bool) -> None:
        """Let a terminal show what is typed, or not; a pipe shows nothing."""
        if sys.platform == "win32" or not os.isatty(self._ear):
            return
        import termios

        now = termios.tcgetattr(self._ear)
        wanted = now[3] | termios.ECHO if shown else now[3] & ~termios.ECHO
        if wanted != now[3]:
            termios.tcsetattr(self._ear, termios.TCSADRAIN, [*now[:3], wanted, *now[4:]])

    def interrupted(self, *_: object) -> None:
        """Stop where an answer is awaited, never in the midst of a save."""
        self._stopped = True
        if self._listening:
            raise KeyboardInterrupt


@contextmanager
def here() -> Iterator[LineTerminal]:
    """Give the terminal of this program, which is left as it was found."""
    found = LineTerminal(sys.stdin.fileno(), sys.stdout.fileno(), sys.stdout.encoding or "utf-8")
    before = signal.signal(signal.SIGINT, found.interrupted)
    try:
        yield found
    finally:
        signal.signal(signal.SIGINT, before)
