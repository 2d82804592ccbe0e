"""A score that another tool wrote and that is none: left out, counted, named; no answer stops."""

from __future__ import annotations

import csv
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import select, text

from panel.frames import own_words_frame, scores_frame
from panel.intake.loading import load_file
from panel.store.engine import Store
from panel.store.opening import make_database, open_store
from panel.store.sessions import Score
from tests.cli.calling import Call, caller
from tests.houses.nosed import build_nosed
from tests.houses.own_words_planned import NAME, hold_own_evening
from tests.houses.to_plan import furnish

AS_OF = ("--as-of", "2026-03-14")
NOW = datetime(2026, 11, 20, 12, 0, tzinfo=UTC)
WRITTEN = ("9e999", "-9e999", "1e300", "-50", "'high'")


@pytest.fixture
def nosed(tmp_path: Path) -> Path:
    """A house with one score of each kind that is none, each on a glass of its own."""
    path = tmp_path / "weir.sqlite"
    store = make_database(str(path))
    build_nosed(store)
    store.close()
    with closing(sqlite3.connect(path)) as file, file:
        asked = "SELECT min(rowid) FROM score GROUP BY serving_id ORDER BY serving_id"
        rows = [row[0] for row in file.execute(asked)]
        file.execute("PRAGMA ignore_check_constraints=ON")  # as a tool can that means to
        for row, value in zip(rows, WRITTEN, strict=False):
            file.execute(f"UPDATE score SET value = {value} WHERE rowid = {row}")
    return path


@pytest.fixture
def ask(nosed: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Call:
    return caller(capsys, monkeypatch, "--db", str(nosed))


@pytest.mark.slow
def test_every_answer_comes_and_says_how_many_it_left_out(ask: Call) -> None:
    found = ask("agreement", "EV1", *AS_OF, "--json")
    assert found.code == 0, found.err
    assert found.document["left_out"] == {"off the line": 5}
    assert "5 off the line" in " ".join(ask("agreement", "EV1", *AS_OF).out.split())
    profile = ask("profile", *AS_OF, "--json")
    assert profile.document["left_out"] == {"off the line": 5}
    said = " ".join(ask("profile", *AS_OF).out.split())
    assert "5 scores are not used: what is stored is no number on the line" in said
    assert ask("agreement", "EV2", *AS_OF).code == 0
    assert ask("match", "Ember", *AS_OF, "--json").err.count("cannot be used") == 0


@pytest.mark.slow
def test_the_check_names_session_person_glass_and_line(nosed: Path, ask: Call) -> None:
    with closing(open_store(str(nosed))) as store, store.read() as db:
        first = db.execute(
            text(
                "SELECT p.code, g.code FROM score s JOIN serving g ON g.id = s.serving_id "
                "JOIN person p ON p.id = g.person_id WHERE s.value = 'high'"
            )
        ).one()
    found = ask("db", "check", "--json")
    [finding] = [each for each in found.document["findings"] if each["about"] == "scores"]
    assert finding["level"] == "fault"
    assert finding["words"].startswith("5 scores are no numbers on their lines")
    assert f"EV1, {first[0]}, glass {first[1]}, ember: high" in finding["words"]


def test_what_is_saved_can_be_loaded(nosed: Path, ask: Call, tmp_path: Path) -> None:
    file = tmp_path / "scores.csv"
    saved = ask("save", "scores", str(file))
    assert saved.code == 0
    assert "5 scores are no numbers on their lines, so left out" in saved.out + saved.err
    with file.open(newline="", encoding="utf-8") as written:
        rows = [{**row, "cask": ""} for row in csv.DictReader(written)]
    with file.open("w", newline="", encoding="utf-8") as written:
        writer = csv.DictWriter(written, fieldnames=list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    fresh = make_database(str(tmp_path / "fresh.sqlite"))
    report = load_file(fresh, "scores", file, now=NOW, by="Heron", create=True)
    assert not report.problems
    with closing(open_store(str(nosed))) as store, store.read() as db, fresh.read() as there:
        assert len(there.scalars(select(Score)).all()) == _count(store) - 5
        assert (scores_frame(db)["status"] == "off_the_line").sum() == 5
    fresh.close()


def _count(store: Store) -> int:
    with store.read() as db:
        return int(db.execute(text("SELECT count(*) FROM score")).scalar_one())


@pytest.mark.slow
def test_a_line_without_ends_takes_no_score(nosed: Path, ask: Call) -> None:
    with closing(sqlite3.connect(nosed)) as file, file:
        file.execute("UPDATE session_descriptor SET scale_high = 9e999 WHERE rowid = 1")
    found = ask("agreement", "EV1", *AS_OF, "--json")
    assert found.code == 0, found.err
    assert found.document["left_out"]["off the line"] > 5


@pytest.mark.slow
def test_own_words_are_left_out_alike(store: Store, fixed_now: datetime) -> None:
    with store.write() as db:
        furnish(db)
    hold_own_evening(store, fixed_now)
    with store.write() as db:
        db.execute(text("PRAGMA ignore_check_constraints=ON"))
        db.execute(text("UPDATE own_score SET value = 9e999 WHERE rowid = 1"))
        db.execute(text("UPDATE own_score SET value = 'much' WHERE rowid = 2"))
    with store.read() as db:
        status = own_words_frame(db, NAME)["status"]
    assert status.tolist().count("off_the_line") == 2
