"""A fault of our own is told in words, and logged without anything of the house."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from panel import fault_log
from panel.cli import cask
from panel.cli.main import run
from panel.desk.app import DeskApp
from panel.desk.page import in_words
from panel.errors import NoDatabase
from panel.store.engine import Store

SECRETS = ("Rowan", "4821", "62.5", "417", "SW1407")
MODE_BITS = 0o777


@pytest.fixture
def log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "logs" / "oakpanel.log"
    monkeypatch.setenv("OAKPANEL_LOG", str(path))
    return path


@pytest.fixture
def broken_command(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let `oakpanel cask` break over what must not be logged."""

    def broken(*_: object, **__: object) -> None:
        pin = SECRETS[1]
        try:
            raise LookupError(f"{SECRETS[0]} scored {SECRETS[2]} for {SECRETS[3]}")
        except LookupError as first:
            raise KeyError(pin, SECRETS[4]) from first

    monkeypatch.setattr(cask.command, "callback", broken)


def ended(*words: str) -> object:
    with pytest.raises(SystemExit) as left:
        run(list(words))
    return left.value.code


@pytest.mark.usefixtures("broken_command")
def test_a_fault_of_ours_names_the_log_and_shows_no_traceback(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert ended("cask", "SW1407") == 1
    told = capsys.readouterr().err
    assert "a fault of ours: KeyError" in told
    assert str(log) in told
    assert "Traceback" not in told


@pytest.mark.usefixtures("broken_command")
@pytest.mark.parametrize("words", [("cask", "SW1407"), ("--debug", "cask", "SW1407")])
def test_the_log_holds_where_and_nothing_of_what(log: Path, words: tuple[str, ...]) -> None:
    ended("--by", "Rowan", *words)
    text = log.read_text(encoding="utf-8")
    assert "fault KeyError from LookupError" in text
    assert f"{__name__}, line " in text
    assert not [secret for secret in (*SECRETS, str(Path.home())) if secret in text]


@pytest.mark.usefixtures("broken_command")
def test_the_log_is_its_owners_alone(log: Path) -> None:
    ended("cask")
    assert log.stat().st_mode & MODE_BITS == 0o600
    assert log.parent.stat().st_mode & MODE_BITS == 0o700


@pytest.mark.usefixtures("broken_command")
def test_with_debug_the_traceback_is_shown(log: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert ended("--debug", "cask") == 1
    told = capsys.readouterr().err
    assert "Traceback" in told
    assert "LookupError: Rowan scored 62.5" in told
    assert "debug cask: " in log.read_text(encoding="utf-8")


def test_with_debug_an_error_in_words_shows_where_it_came_from(
    log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert ended("--debug", "--db", str(tmp_path / "none.sqlite"), "cask") == 1
    told = capsys.readouterr().err
    assert "Traceback" in told
    assert told.splitlines()[-1].startswith("There is no database at")
    text = log.read_text(encoding="utf-8")
    assert "panel.store.opening, line " in text
    assert "none.sqlite" not in text


def test_without_debug_a_command_that_works_or_is_refused_logs_nothing(log: Path) -> None:
    assert ended("strength", "reduce", "--litres", "100", "--from", "63.5", "--to", "46") == 0
    assert ended("strength", "reduce", "--litres", "1", "--from", "40", "--to", "46") == 1
    assert not log.exists()


def test_a_log_that_cannot_be_written_is_said_and_stops_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "no folder"
    file.write_text("", encoding="utf-8")
    monkeypatch.setenv("OAKPANEL_LOG", str(file / "oakpanel.log"))
    assert "could not be written to the log" in fault_log.told(RuntimeError("x"))


def test_a_full_log_is_put_aside_and_the_oldest_goes(
    log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(fault_log, "LARGEST_BYTES", 10)
    for n in range(5):
        fault_log.note([f"line {n}"], clock=lambda: datetime(2026, 3, 14, tzinfo=UTC))
    kept = {path.name: path.read_text(encoding="utf-8") for path in log.parent.iterdir()}
    assert set(kept) == {"oakpanel.log", "oakpanel.log.1", "oakpanel.log.2"}
    assert [kept[name].splitlines()[-1] for name in sorted(kept)] == ["line 4", "line 3", "line 2"]


def test_the_desk_tells_its_own_faults_with_the_log_and_others_as_they_are(log: Path) -> None:
    assert str(log) in in_words(RuntimeError("out of order"))
    log.unlink()
    assert in_words(NoDatabase("There is none.")) == "There is none."
    assert not log.exists()


def test_a_desk_that_breaks_ends_in_words(
    store: Store, log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    class Broken(DeskApp):
        def on_desk_app_opened(self, message: object) -> None:
            pin = "4821" if message else ""
            raise RuntimeError("out of order" if pin else "")

    desk = Broken(store, by="LD")
    desk.run(headless=True, size=(80, 24))
    told = " ".join(capsys.readouterr().err.split())
    assert desk.return_code == 1
    assert "The desk stopped. This did not work, a fault of ours: RuntimeError" in told
    assert "4821" not in told
    assert "Traceback" not in told
    assert "fault RuntimeError" in log.read_text(encoding="utf-8")
