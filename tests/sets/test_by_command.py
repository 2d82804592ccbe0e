"""Sets by command: planned, judged, as JSON that keeps its schema."""

from __future__ import annotations

import jsonschema
import pytest

from panel.cli.schemas import schema
from panel.kinds import SessionKind
from panel.store.engine import Store
from tests.cli.calling import Call, caller
from tests.houses.in_sets import answer_all, opened, picks, ranks, revealed, set_plan
from tests.houses.to_plan import build_to_plan


@pytest.fixture
def house(store: Store) -> Store:
    build_to_plan(store)
    return store


@pytest.fixture
def oakpanel(
    house: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    return caller(capsys, monkeypatch, "--db", str(house.url.database))


@pytest.mark.parametrize(
    ("plan", "answers", "word"),
    [
        (set_plan(SessionKind.STRONGER, alike_within=1.0), picks("D1"), "different"),
        (set_plan(SessionKind.RANKING), ranks(("D2", "D1", "D3")), "different"),
    ],
)
def test_a_finding_is_one_command(
    house: Store, oakpanel: Call, plan: object, answers: object, word: str
) -> None:
    opened(house, plan)  # type: ignore[arg-type]
    answer_all(house, plan, answers)  # type: ignore[arg-type]
    revealed(house, plan)  # type: ignore[arg-type]
    document = oakpanel("agreement", "pairs", "--json").document
    jsonschema.validate(document, schema("agreement"))
    assert document["verdict"] == word
    assert oakpanel("agreement", "pairs").out.startswith(f"{word.upper()}. ")
    refused = oakpanel("agreement", "pairs", "--assessor", "A1")
    assert refused.code == 1
    assert "ask for the whole of it" in refused.err


def test_a_plan_tells_its_power_as_json(oakpanel: Call) -> None:
    words = ("session", "plan", "Batch", "--pairs", "--draw", "D1", "--draw", "D2", "--json")
    more = ("--descriptor", "wet slate", "--all-assessors", "--held-on", "2026-03-20")
    document = oakpanel(*words, *more, "--replicates", "4", "--alike-within", "1").document
    jsonschema.validate(document, schema("session plan"))
    assert document["can_tell"]["answers"] == 24
    assert document["can_tell"]["different"] == {"first": 30, "stays": 33}
    power = oakpanel("session", "power", "--pairs", "--assessors", "26", "--one-way", "--json")
    found = power.document["plans"][0]
    assert [round(at["power"], 2) for at in found["power"] if at["d_prime"] == 1.0] == [0.85]
