"""Traces by command: planned, judged, drawn, handed on, and as JSON that keeps its schema."""

from __future__ import annotations

from pathlib import Path

import jsonschema
import pytest

from panel.cli.schemas import schema
from panel.store.engine import Store
from tests.cli.calling import Call, caller
from tests.houses.in_sets import opened, revealed
from tests.houses.to_plan import build_to_plan
from tests.houses.traced import NAME, bursts, trace_all, trace_plan


@pytest.fixture
def oakpanel(
    store: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    build_to_plan(store)
    return caller(capsys, monkeypatch, "--db", str(store.url.database))


def test_a_finding_is_one_command_in_words_json_picture_and_page(
    store: Store, oakpanel: Call, tmp_path: Path
) -> None:
    plan = trace_plan()
    opened(store, plan)
    trace_all(store, plan, bursts("D1"))
    revealed(store, plan)
    document = oakpanel("agreement", NAME, "--json").document
    jsonschema.validate(document, schema("agreement"))
    assert [one["verdict"] for one in document["samples"]] == ["bursts", "lingers"]
    assert document["samples"][0]["means"]["t_max"]["mean"] == 5.0
    said = oakpanel("agreement", NAME).out
    assert said.startswith("DIFFER IN COURSE. Wet slate takes another course in D2 than in D1")
    drawn = oakpanel("agreement", NAME, "--picture", "-").out
    assert "Does wet slate burst or linger in D1?" in drawn
    assert "s after the sip" in drawn
    page = tmp_path / "page.html"
    assert oakpanel("report", "session", NAME, "--to", str(page)).code == 0
    text = page.read_text(encoding="utf-8")
    assert "Does wet slate burst or linger in D2?" in text
    assert "ASTM E1909" in text
    assert "ask for the whole of it" in oakpanel("agreement", NAME, "--assessor", "A1").err


def test_a_plan_tells_its_power_as_json(oakpanel: Call) -> None:
    words = ("session", "plan", NAME, "--trace", "--draw", "D1", "--draw", "D2", "--json")
    more = ("--descriptor", "wet slate", "--all-assessors", "--held-on", "2026-03-20")
    document = oakpanel(*words, *more).document
    jsonschema.validate(document, schema("session plan"))
    assert document["can_tell"]["people_needed"] == 23
    assert document["manner"] == "taste"
