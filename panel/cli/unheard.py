"""Keys that are typed before a screen stands or after it is gone: no shell may read them.

A hand that is faster than the screen types a code and a PIN; were they left in the terminal, a
shell would show them, and keep them among its commands.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def unheard() -> Iterator[None]:
    """Show nothing that is typed before the screen stands; throw away what is left at its end."""
    if not sys.stdin.isatty() or sys.platform == "win32":
        yield
        return
    import termios

    here = sys.stdin.fileno()
    before = termios.tcgetattr(here)
    silent = [*before[:3], before[3] & ~termios.ECHO, *before[4:]]
    termios.tcsetattr(here, termios.TCSANOW, silent)
    try:
        yield
    finally:
        termios.tcsetattr(here, termios.TCSAFLUSH, before)
