"""Stages by command and on paper: planned, keyed, judged, drawn, handed on, saved."""

from __future__ import annotations

from pathlib import Path

import jsonschema
import pytest

from panel.cli.schemas import schema
from panel.session.ballots import ballots
from panel.session.keyed import KeyedLine, keep_ballots, template
from panel.store.engine import Store
from tests.cli.calling import Call, caller
from tests.conftest import FIXED_NOW
from tests.houses.in_sets import LEAD, draws_by_glass, opened, revealed
from tests.houses.staged import NAME, NOTE, bursts_in, score_stages, stage_plan
from tests.houses.to_plan import build_to_plan


@pytest.fixture
def oakpanel(
    store: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    build_to_plan(store)
    return caller(capsys, monkeypatch, "--db", str(store.url.database))


def test_a_finding_is_one_command_in_words_json_picture_and_page(
    store: Store, oakpanel: Call, tmp_path: Path
) -> None:
    plan = stage_plan()
    opened(store, plan)
    score_stages(store, plan, bursts_in("D1"))
    revealed(store, plan)
    document = oakpanel("agreement", NAME, "--json").document
    jsonschema.validate(document, schema("agreement"))
    assert document["stages"]["notes"][0]["samples"][0]["means"]["finish"]["mean"] == 12.5
    said = oakpanel("agreement", NAME).out
    assert said.startswith("bonfire, by stages\nDIFFER IN COURSE.")
    drawn = oakpanel("agreement", NAME, "--picture", "-").out
    assert "Where does bonfire lie?" in drawn
    assert "What did we find in four-stages?" in drawn
    page = tmp_path / "page.html"
    assert oakpanel("report", "session", NAME, "--to", str(page)).code == 0
    text = page.read_text(encoding="utf-8")
    assert "bonfire by stages" in text
    assert "only the amount of a note doubles" in text
    glasses = oakpanel("session", "show", NAME, "--scores", "--json").document
    assert glasses["glasses"][0]["scores"]["bonfire, finish"] in range(10, 60)
    saved = tmp_path / "stages.csv"
    assert oakpanel("save", "stages", str(saved)).code == 0
    assert len(saved.read_text(encoding="utf-8").splitlines()) == 1 + 4 * 2 * len(plan.assessors)
    assert oakpanel("load", "stages", str(saved)).code == 0
    changed = saved.read_text(encoding="utf-8").replace(",finish,", ",arrival,")
    saved.write_text(changed, encoding="utf-8")
    assert "session key" in oakpanel("load", "stages", str(saved)).err


def test_a_plan_by_command_names_the_notes(oakpanel: Call) -> None:
    words = ("session", "plan", NAME, "--stages", NOTE, "--draw", "D1", "--draw", "D2")
    more = ("--descriptor", "wet slate", "--all-assessors", "--held-on", "2026-03-20", "--json")
    document = oakpanel(*words, "--taste", *more).document
    jsonschema.validate(document, schema("session plan"))
    assert (document["stages"], document["can_tell"]["people_needed"]) == ([NOTE], 31)
    assert "where glasses are tasted" in oakpanel(*words, *more).err
    assert "--trace or --stages" in oakpanel(*words, "--trace", *more).err


def test_ballots_are_keyed_twice_by_the_names_of_the_lines(store: Store, oakpanel: Call) -> None:
    opened(store, stage_plan())
    with store.write() as db:
        page = ballots(db, NAME, now=FIXED_NOW, by=LEAD).split("\f")[0]
        rows = template(db, NAME).splitlines()
    assert "bonfire, arrival" in page
    assert "nothing is swallowed" in " ".join(page.split())
    assert all(len(line) <= 80 for line in page.splitlines())
    assert not any(draw in page for draw in stage_plan().draws)
    cells = [row.split(",")[:2] for row in rows[1:]]
    lines = [
        KeyedLine(who, code, f"{NOTE}, {at}", str(20 + n))
        for who, code in dict.fromkeys((who, code) for who, code in cells)
        for n, at in enumerate(("nose", "arrival", "finish"))
    ]
    with store.write() as db:
        found = keep_ballots(db, NAME, lines, list(lines), now=FIXED_NOW, by=LEAD)
    assert found.glasses == 2 * len(stage_plan().assessors) == len(draws_by_glass(store))
