"""Evenings that share no glass: every answer that rests on them says so before its figures."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest

from analysis.profile import Profile
from panel.intake.loading import load_file
from panel.questions import profile as profiles
from panel.store.opening import make_database
from tests.houses.invented import FILES, KINDS, NOW, asker, document
from tests.thinned import some_rows

SAID = "No sample was nosed in two of the"
ANSWERS: dict[str, dict[tuple[str, ...], str]] = {}
EVENINGS = 6
PROFILES: dict[str, Profile] = {}


@pytest.fixture(autouse=True)
def one_profile(monkeypatch: pytest.MonkeyPatch) -> None:
    """Estimate it once for all commands."""
    estimate = profiles.house_profile

    def remembered(db: Any, **asked: Any) -> Profile:
        return PROFILES.setdefault("", PROFILES.get("") or estimate(db, **asked))

    monkeypatch.setattr(profiles, "house_profile", remembered)


def untied_scores(folder: Path) -> Path:
    """The invented house's scores of six evenings, each sample only where it was nosed first."""
    with (FILES / "scores.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    evenings = sorted({row["session"] for row in rows})[-EVENINGS:]
    first: dict[str, str] = {}
    kept = [
        row
        for row in rows
        if row["session"] in evenings
        and first.setdefault(row["sample"], row["session"]) == row["session"]
    ]
    path = folder / "scores.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(kept)
    return path


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("apart")
    path = folder / "weir.sqlite"
    store = make_database(str(path))
    for kind in KINDS:
        load_file(store, kind, FILES / f"{kind}.csv", now=NOW, by="Heron")
    report = load_file(store, "scores", untied_scores(folder), now=NOW, by="Heron")
    assert not report.problems
    store.close()
    return str(path)


@pytest.mark.parametrize(
    ("command", "arguments"),
    some_rows([("profile", ()), ("match", ("Lantern",)), ("profile", ("SW1303",))], 3),
)
def test_it_is_the_first_thing_said(
    command: str,
    arguments: tuple[str, ...],
    database: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    ask = asker(command, database, capsys, ANSWERS.setdefault(command, {}))
    lines = ask(*arguments).splitlines()
    assert lines[0].startswith(SAID)
    assert max(map(len, lines)) <= 80
    assert document(ask, *arguments)["note"].startswith(SAID)


@pytest.mark.parametrize(
    ("command", "figures"), [("influences", "moves with"), ("ageing", "Nothing recorded")]
)
def test_what_is_explained_or_drawn_comes_after_it(
    command: str, figures: str, database: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Casks of the largest evening are explained; the note says why only these."""
    ask = asker(command, database, capsys, ANSWERS.setdefault(command, {}))
    said = " ".join(ask().split())
    assert said.index(SAID) < (said.index(figures) if figures in said else len(said))
    assert "All this is from one session" in said
    assert "Left out" in said or "Not told" in said
    assert any(warning.startswith(SAID) for warning in document(ask)["warnings"])
