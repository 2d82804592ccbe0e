"""The invented distillery's own files, loaded once for the tests of a module."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from types import ModuleType
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

import demo_panel
from analysis.profile import Profile
from panel.cli.main import run
from panel.intake.loading import load_file
from panel.questions import agreement
from panel.questions import profile as profiles
from panel.store.opening import make_database
from panel.store.sessions import PanelSession

FILES = Path(demo_panel.__file__).parent
KINDS = ("makes", "casks", "events", "regauges", "draws", "lexicon", "assessors", "targets")
NOW = datetime(2026, 11, 20, 12, 0, tzinfo=UTC)
AS_OF = "2026-11-20"


Ask = Callable[..., str]
PROFILES: dict[date, Profile] = {}


def remember_profile(monkeypatch: pytest.MonkeyPatch) -> None:
    """Estimate the profile once for all commands: it has tests of its own."""
    estimate = profiles.house_profile

    def remembered(db: Session, *, as_of: date, start: Profile | None = None) -> Profile:
        if as_of not in PROFILES:
            PROFILES[as_of] = estimate(db, as_of=as_of)
        return PROFILES[as_of]

    monkeypatch.setattr(profiles, "house_profile", remembered)


JUDGED: dict[tuple[object, ...], Any] = {}


def remember_agreements(monkeypatch: pytest.MonkeyPatch) -> None:
    """Judge the same sessions in the same states once for all commands of a module.

    An evening is laid beside eight, not forty: nothing in these tests hangs on more.
    """
    monkeypatch.setattr(agreement, "TO_DATE", 8)
    _remember(monkeypatch, agreement, "session_agreement")
    _remember(monkeypatch, agreement, "span_agreement")


def _remember(monkeypatch: pytest.MonkeyPatch, module: ModuleType, name: str) -> None:
    judge = getattr(module, name)

    def remembered(db: Session, asked: str | list[str], **options: Any) -> Any:
        states = db.execute(select(PanelSession.name, PanelSession.status)).all()
        told = {key: value for key, value in options.items() if key != "progress"}
        key = (str(db.get_bind()), name, str(asked), str(told), str(states))
        if key not in JUDGED:
            JUDGED[key] = judge(db, asked, **options)
        return JUDGED[key]

    monkeypatch.setattr(module, name, remembered)


def invented_house(folder: Path) -> str:
    """Make a database of it and return where it is; its files are loaded once a worker."""
    path = folder / "weir.sqlite"
    path.write_bytes(_loaded())
    return str(path)


@cache
def _loaded() -> bytes:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "weir.sqlite"
        store = make_database(str(path))
        for kind in (*KINDS, "scores"):
            load_file(store, kind, FILES / f"{kind}.csv", now=NOW, by="Heron")
        store.close()
        return path.read_bytes()


def asker(
    command: str,
    database: str,
    capsys: pytest.CaptureFixture[str],
    answers: dict[tuple[str, ...], str],
    *first: str,
) -> Ask:
    """Return what runs a command once and remembers its answer; nothing here changes records.

    What stands *first* is said before the command.
    """

    def asked(*arguments: str, code: int = 0) -> str:
        if arguments not in answers:
            with pytest.raises(SystemExit) as stopped:
                run(["--db", database, *first, command, *arguments, "--as-of", AS_OF])
            out, err = capsys.readouterr()
            assert stopped.value.code == code, err
            assert "Traceback" not in err
            answers[arguments] = out if code == 0 else err
        return answers[arguments]

    return asked


def document(ask: Ask, *arguments: str) -> dict[str, Any]:
    """Return a command's answer in JSON."""
    found: dict[str, Any] = json.loads(ask(*arguments, "--json"))
    return found
