"""What the integer solver writes past all its settings, kept from whoever reads our output.

HiGHS writes a line of its own to standard output where it mends a rounded answer, silent or not
(its issue 2783), which would stand in the midst of an answer in JSON or on a screen.
"""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from threading import Lock

_OUTPUT = 1


@dataclass
class _Output:
    """Standard output of the process: how many solve, and what it was; -1 where there is none."""

    solving: int = 0
    kept: int = -1

    def turn_off(self) -> None:
        with suppress(OSError, ValueError):  # whoever read it may be gone
            if sys.stdout is not None:
                sys.stdout.flush()
        try:
            nowhere = os.open(os.devnull, os.O_WRONLY)
        except OSError:
            return
        with suppress(OSError):
            self.kept = os.dup(_OUTPUT)
            os.dup2(nowhere, _OUTPUT)
        os.close(nowhere)

    def turn_on(self) -> None:
        if self.kept < 0:
            return
        # What the C library still holds back is the solver's.
        ctypes.CDLL(None if os.name == "posix" else "ucrtbase").fflush(None)
        os.dup2(self.kept, _OUTPUT)
        os.close(self.kept)
        self.kept = -1


_lock, _output = Lock(), _Output()


@contextmanager
def unheard() -> Iterator[None]:
    """Let nothing that is written below Python reach standard output.

    Several threads may solve at once: the first turns the output off, the last one on. What another
    thread prints meanwhile is lost too: commands print from the thread that solves, screens write
    to standard error.
    """
    with _lock:
        if _output.solving == 0:
            _output.turn_off()
        _output.solving += 1
    try:
        yield
    finally:
        with _lock:
            _output.solving -= 1
            if _output.solving == 0:
                _output.turn_on()
