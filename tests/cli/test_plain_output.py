"""Whatever somebody wrote, a terminal that shows it is steered nowhere."""

from __future__ import annotations

import io
import sys

import pytest

from panel.cli.plain_output import plain_output


class Terminal(io.StringIO):
    """Takes itself for a terminal."""

    def isatty(self) -> bool:
        return True


STEERS = "\x1b[31mred\x1b]0;owned\x07 \u202eabc\x9b2J"


def test_on_a_terminal_no_sign_steers_it(monkeypatch: pytest.MonkeyPatch) -> None:
    shown = Terminal()
    monkeypatch.setattr(sys, "stdout", shown)
    with plain_output():
        sys.stdout.write(f"note: {STEERS}\r\n")
    assert shown.getvalue() == "note: ·[31mred·]0;owned· ·abc·2J\r\n"
    assert sys.stdout is shown


def test_a_file_or_a_pipe_gets_every_byte(monkeypatch: pytest.MonkeyPatch) -> None:
    written = io.StringIO()
    monkeypatch.setattr(sys, "stdout", written)
    with plain_output():
        sys.stdout.write(STEERS)
    assert written.getvalue() == STEERS
