"""The file that a PIN is read from where nobody sits at a terminal: one line, the PIN alone."""

from __future__ import annotations

import os
import stat
import sys
from pathlib import Path

import click

from panel.errors import NotProved, OakpanelError

STDIN = "-"
LONGEST = 64
"""Characters that are looked at: a PIN has 4 to 12 digits, blanks and a line's end around them."""
ALONE = "it should hold the PIN alone, in one line"
OTHERS_READ = stat.S_IRGRP | stat.S_IROTH


def pin_in(named: str) -> str:
    """Return the PIN that a file holds; of stdin (`-`) the next line.

    Raises
    ------
    OakpanelError
        It cannot be read, is too long, or has a second line: no PIN was tried then.
    NotProved
        There is nothing in it.
    """
    text = _line_of_stdin() if named == STDIN else _text_of(named)
    if len(text) > LONGEST:
        raise OakpanelError(f"The PIN file {named} is longer than any PIN: {ALONE}.")
    lines = text.removeprefix("\ufeff").strip(" \t\r\n\0").splitlines()
    if len(lines) > 1:
        raise OakpanelError(f"The PIN file {named} has more than one line: {ALONE}.")
    if not lines or not text.lstrip("\ufeff").splitlines()[0].strip():
        raise NotProved("The PIN file's first line is empty; it should hold the PIN alone.")
    return lines[0]


def _line_of_stdin() -> str:
    # No more than a line: what else comes from there is for whoever asks next.
    return sys.stdin.readline(LONGEST + 1)


def _text_of(named: str) -> str:
    try:
        with Path(named).open(encoding="utf-8") as file:
            _warn_if_open(named, os.fstat(file.fileno()).st_mode)
            return file.read(LONGEST + 1)
    except (OSError, ValueError):
        raise OakpanelError(f"No PIN can be read from the file {named}.") from None


def _warn_if_open(named: str, mode: int) -> None:
    if stat.S_ISREG(mode) and mode & OTHERS_READ:
        words = f"Others on this machine can read the PIN file {named}: chmod 600 {named}"
        click.echo(words, err=True)
