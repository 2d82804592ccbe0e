"""What a command says while it reckons."""

from __future__ import annotations

import io
import time

import pytest

from analysis.under_way import Stage, step
from panel.cli import answers
from panel.cli.answers import waiting
from panel.cli.main import run


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


def test_what_tells_how_far_it_is_stands_there_with_its_share(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(answers, "_FIRST_SAID_AFTER", 0.001)
    out = Terminal()
    with waiting("Reckoning", out):
        step(Stage.PROFILE, 3, 12)
        deadline = time.monotonic() + 10.0
        while "%" not in out.getvalue() and time.monotonic() < deadline:
            pass
    assert "\rWhat each sample is: 3 of 12 notes, 25% ... " in out.getvalue()
    assert out.getvalue().endswith(" \r")


def test_ctrl_c_ends_in_words(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("panel.cli.invocation.Invocation.open", stopped)
    with pytest.raises(SystemExit) as ended:
        run(["cask"])
    assert ended.value.code == 1
    assert capsys.readouterr().err.strip() == "Stopped; nothing was left half done."
