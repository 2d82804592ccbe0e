"""What is typed before a screen stands is neither shown nor left for a shell."""

from __future__ import annotations

import os
import pty
import select
import sys

SCRIPT = """
import select, sys
from panel.cli.unheard import unheard
class Ends(Exception): pass
def waits(seconds): return bool(select.select([sys.stdin], [], [], seconds)[0])
try:
    with unheard():
        print("begun", flush=True)
        print("typed" if waits(60) else "untyped", flush=True)
        raise Ends
except Ends:
    pass
print("left" if waits(0.05) else "nothing", "here", flush=True)
"""
"""The screen ends once the terminal has what was typed: what comes later is typed to a shell."""


def until(terminal: int, words: bytes) -> bytes:
    heard = b""
    while words not in heard:
        ready, _, _ = select.select([terminal], [], [], 60)
        assert ready, heard
        heard += os.read(terminal, 4096)
    return heard


def test_a_pin_typed_at_a_screen_that_ends_is_shown_nowhere_and_left_to_nobody() -> None:
    child, terminal = pty.fork()
    if child == 0:
        os.execv(sys.executable, [sys.executable, "-c", SCRIPT])
    try:
        heard = until(terminal, b"begun")
        os.write(terminal, b"4711\n")
        heard += until(terminal, b"here")
    finally:
        os.close(terminal)
        os.waitpid(child, 0)
    assert b"4711" not in heard
    assert b"untyped" not in heard
    assert b"nothing here" in heard
