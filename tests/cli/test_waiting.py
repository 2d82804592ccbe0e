"""What a command says while it reckons."""

from __future__ import annotations

import io
import time

import pytest

from panel.cli import answers
from panel.cli.answers import waiting


class Terminal(io.StringIO):
    """A terminal to write on."""

    def isatty(self) -> bool:
        return True


def test_a_reckoning_that_takes_long_says_so_on_a_terminal_and_clears_the_line(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(answers, "_FIRST_SAID_AFTER", 0.001)
    out = Terminal()
    with waiting("Reckoning", out):
        deadline = time.monotonic() + 10.0
        while not out.getvalue() and time.monotonic() < deadline:
            pass
    assert out.getvalue().startswith("\rReckoning ... 0 s")
    assert out.getvalue().endswith(" \r")


def test_a_quick_one_says_nothing() -> None:
    out = Terminal()
    with waiting("Reckoning", out):
        pass
    assert out.getvalue() == ""


def test_a_pipe_is_told_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(answers, "_FIRST_SAID_AFTER", 0.0)
    out = io.StringIO()
    with waiting("Reckoning", out):
        pass
    assert out.getvalue() == ""


def test_an_error_goes_through_and_the_line_is_cleared() -> None:
    out = Terminal()
    with pytest.raises(ValueError, match="too little"), waiting("Reckoning", out):
        raise ValueError("too little")
    assert out.getvalue() == ""
