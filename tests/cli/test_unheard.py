"""What is typed before a screen stands is neither shown nor left for a shell."""

from __future__ import annotations

import os
import pty
import select
import signal
import sys

SCRIPT = """
import select, signal, sys
from panel.cli.unheard import unheard
def go_on(*_): raise InterruptedError
signal.signal(signal.SIGUSR1, go_on)
try:
    with unheard():
        print("begun", flush=True)
        signal.pause()
except InterruptedError:
    pass
print("left" if select.select([sys.stdin], [], [], 0.05)[0] else "nothing", "here", flush=True)
"""


def until(terminal: int, words: bytes) -> bytes:
    heard = b""
    while words not in heard:
        ready, _, _ = select.select([terminal], [], [], 20)
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
        os.kill(child, signal.SIGUSR1)
        heard += until(terminal, b"here")
    finally:
        os.close(terminal)
        os.waitpid(child, 0)
    assert b"4711" not in heard
    assert b"nothing here" in heard
