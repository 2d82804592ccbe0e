"""Lines left blank, from a loaded file to what `oakpanel agreement` says of them."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from sqlalchemy import select

from analysis.agreement import assess_agreement
from panel.frames import scores_frame
from panel.intake.loading import load_file
from panel.session.stages import close_session
from panel.store.engine import Store
from panel.store.opening import make_database
from panel.store.sessions import Score, Serving
from tests.cli.calling import Call, caller
from tests.houses.at_the_desk import build
from tests.houses.held_at_the_desk import NAME, hold, score_all

NOW = datetime(2026, 11, 20, 12, 0, tzinfo=UTC)
PEOPLE = tuple(f"P{n}" for n in range(1, 9))
LEVELS = {"x1": 5.0, "x2": 8.0, "x3": 12.0, "x4": 20.0, "x5": 30.0, "x6": 40.0, "x7": 55.0}
Cell = Callable[[str, str, float], float | None]
"""What stands in a cell of a person, a sample, and what the nose would say."""


def evening(cell: Cell) -> list[dict[str, Any]]:
    """Seven samples, two of them twice, on two notes; only plum has empty cells."""
    rng = np.random.default_rng(7)
    rows = []
    for who in PEOPLE:
        poured = [*((sample, 1) for sample in LEVELS), ("x1", 2), ("x6", 2)]
        for place, at in enumerate(rng.permutation(len(poured)), start=1):
            sample, replicate = poured[at]
            nose = float(np.clip(round(LEVELS[sample] + rng.normal(0.0, 5.0)), 0, 100))
            value = cell(who, sample, nose)
            rows.append(
                {
                    **{"session": "S1", "held_on": "2026-10-05", "assessor": who},
                    **{"sample": sample, "kind": "test", "replicate": replicate},
                    **{"position": place, "status": "kept"},
                    "plum": "" if value is None else value,
                    "walnut": float(np.clip(round(60.0 - nose + rng.normal(0.0, 5.0)), 0, 100)),
                }
            )
    return rows


def loaded(folder: Path, rows: list[dict[str, Any]]) -> Store:
    store = make_database(str(folder / "weir.sqlite"))
    with (folder / "scores.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fieldnames=list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    report = load_file(store, "scores", folder / "scores.csv", now=NOW, by="Heron", create=True)
    assert not report.problems
    return store


@pytest.fixture
def ask(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    monkeypatch.delenv("OAKPANEL_BY", raising=False)
    return caller(capsys, monkeypatch, "--db", str(tmp_path / "weir.sqlite"))


def plum(ask: Call) -> dict[str, Any]:
    said = ask("agreement", "S1", "--json")
    assert said.code == 0, said.err
    found: dict[str, Any] = next(
        note for note in said.document["descriptors"] if note["descriptor"] == "plum"
    )
    return found


@pytest.mark.slow
def test_low_scores_left_blank_in_a_file_are_said_of(tmp_path: Path, ask: Call) -> None:
    loaded(tmp_path, evening(lambda _who, _sample, nose: None if nose <= 8 else nose)).close()
    found = plum(ask)
    assert found["low_blanks"] is not None
    assert "left blank where the others score low" in found["note"]
    said = ask("agreement", "S1").out
    assert "left blank where the others score low" in " ".join(said.split())


def test_a_sample_that_nobody_scored_is_named(tmp_path: Path, ask: Call) -> None:
    loaded(tmp_path, evening(lambda _who, sample, nose: None if sample == "x1" else nose)).close()
    found = plum(ask)
    assert found["n_missing"] == 2 * len(PEOPLE)
    assert found["never_scored"] == ["x1"]
    assert "Nobody scored x1 on it" in " ".join(ask("agreement", "S1").out.split())


def test_a_note_that_a_person_never_scored_was_not_asked(tmp_path: Path) -> None:
    store = loaded(tmp_path, evening(lambda who, _sample, nose: None if who == "P1" else nose))
    with store.read() as db:
        frame = scores_frame(db)
    assert not frame["score"].isna().any()
    assert len(frame) == 9 * (2 * len(PEOPLE) - 1)


def test_void_and_re_poured_glasses_and_the_warm_up_have_no_blanks(tmp_path: Path) -> None:
    rows = evening(lambda _who, sample, nose: None if sample == "x2" else nose)
    out = {"P1": "void", "P2": "re-poured", "P3": "swap_suspected", "P4": "knew_key"}
    for row in rows:
        if row["sample"] == "x2" or out.get(row["assessor"]) == "knew_key":
            row["status"] = out.get(row["assessor"], "kept")
    store = loaded(tmp_path, rows)
    with store.read() as db:
        frame = scores_frame(db)
    blank = frame[frame["score"].isna()]
    assert sorted(blank["assessor"]) == ["P5", "P6", "P7", "P8"]
    assert set(blank["sample"]) == {"x2"}
    assert set(blank["descriptor"]) == {"plum"}


def test_lines_that_the_close_cut_off_are_no_blanks_of_the_person(store: Store) -> None:
    """Of a glass that somebody was still at; of one put down, what has no score was left blank."""
    build(store)
    hold(store, "open")
    score_all(store)
    with store.write() as db:
        person = db.scalars(select(Serving.person_id)).first()
        mine = select(Serving).where(Serving.person_id == person, Serving.warm_up.is_(False))
        whole, cut = db.scalars(mine.order_by(Serving.id.desc())).all()[:2]
        cut.taken_at, cut.finished_at = NOW, None
        whole.taken_at = whole.finished_at = NOW
        for glass in (whole, cut):
            scores = db.scalars(select(Score).where(Score.serving_id == glass.id)).all()
            for score in scores[1:]:
                db.delete(score)
        n_left, code = len(scores) - 1, cut.person.code
    assert n_left > 0
    with store.write() as db:
        close_session(db, NAME, now=NOW, by="LD")
    with store.read() as db:
        frame = scores_frame(db)
    mine_of = frame[frame["score"].isna() & (frame["assessor"] == code)]
    assert mine_of["status"].value_counts().to_dict() == {
        "kept": n_left,
        "not_reached_before_the_close": n_left,
    }
    found = assess_agreement(frame)
    person_of = next(one for one in found.assessors if one.assessor == code)
    assert person_of.n_missing == n_left
    told = {"not reached before the close": n_left, "left blank": n_left}
    assert told.items() <= found.left_out.items()
