"""Sets by command: planned, judged, as JSON that keeps its schema."""

from __future__ import annotations

import jsonschema
import pytest
from sqlalchemy import select

from panel.cli.schemas import schema
from panel.kinds import SessionKind
from panel.records.erase import erase_person
from panel.store.answers import Answer, AnswerChange
from panel.store.engine import Store
from panel.store.person_record import person_record
from tests.cli.calling import Call, caller
from tests.conftest import FIXED_NOW
from tests.houses.in_sets import answer_all, opened, picks, ranks, revealed, set_plan
from tests.houses.to_plan import build_to_plan
from tests.thinned import some_rows


@pytest.fixture
def house(store: Store) -> Store:
    build_to_plan(store)
    return store


@pytest.fixture
def oakpanel(
    house: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    return caller(capsys, monkeypatch, "--db", str(house.url.database), house=house)


@pytest.mark.parametrize(
    ("plan", "answers", "word"),
    some_rows(
        [
            (set_plan(SessionKind.STRONGER, alike_within=1.0), picks("D1"), "different"),
            (set_plan(SessionKind.RANKING), ranks(("D2", "D1", "D3")), "different"),
        ],
        2,
    ),
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


def test_answers_stand_in_the_glasses_of_a_session_and_in_what_is_kept_of_a_person(
    house: Store, oakpanel: Call
) -> None:
    plan = set_plan(SessionKind.STRONGER)
    opened(house, plan)
    answer_all(house, plan, picks("D1"))
    revealed(house, plan)
    told = oakpanel("session", "show", "pairs", "--scores", "--json").document
    jsonschema.validate(told, schema("session show"))
    assert told["notes"] == []
    places = {(glass["draw"], glass["place"]) for glass in told["glasses"]}
    assert places == {("D1", 1), ("D2", 2)}
    first = told["glasses"][0]
    said = oakpanel("session", "show", "pairs", "--scores").out
    row = next(line for line in said.splitlines() if first["code"] in line)
    assert row.split() == [*(first[name] for name in ("code", "draw", "assessor")), *_answer(first)]
    kept = oakpanel("people", "export", "A1").document
    jsonschema.validate(kept, schema("people export"))
    glasses = [glass for seat in kept["sessions"] for glass in seat["glasses"]]
    assert sorted(glass["answers"][0]["answer"] for glass in glasses) == [1.0, 1.0, 2.0, 2.0]
    assert all(glass["answer_changes"] == glass["answers"] for glass in glasses)
    assert {glass["passed"] for glass in glasses} == {None}


def _answer(glass: dict[str, object]) -> list[str]:
    return [str(glass["place"]), "in", "set", str(glass["flight"])]


@pytest.mark.parametrize("keep", [True, False])
def test_an_erasure_leaves_no_trace_of_whose_answers_they_are(house: Store, keep: bool) -> None:
    plan = set_plan(SessionKind.STRONGER)
    opened(house, plan)
    answer_all(house, plan, picks("D1"))
    revealed(house, plan)
    with house.write() as db:
        gone = erase_person(db, "A1", keep_scores=keep, now=FIXED_NOW, by="L1")
    with house.read() as db:
        by = {change.by_code for change in db.scalars(select(AnswerChange))}
        n = len(db.scalars(select(Answer)).all())
        (left,) = (glass for glass in [person_record(db, gone.pseudonym)])
    assert "A1" not in by
    assert (gone.scores_kept, gone.scores_deleted) == ((4, 0) if keep else (0, 4))
    assert n == (24 if keep else 20)
    assert (str(left).count("'answers': [{") == 4) is keep


def test_a_plan_tells_its_power_as_json(oakpanel: Call) -> None:
    words = ("session", "plan", "Batch", "--pairs", "--draw", "D1", "--draw", "D2", "--json")
    more = ("--descriptor", "wet slate", "--all-assessors", "--held-on", "2026-03-20")
    document = oakpanel(*words, *more, "--replicates", "4", "--alike-within", "1").document
    jsonschema.validate(document, schema("session plan"))
    assert document["can_tell"]["answers"] == 24
    assert document["can_tell"]["different"] == {"first": 30, "stays": 33}
    threes = oakpanel("session", "power", "--odd-one-out", "--assessors", "12", "--json")
    jsonschema.validate(threes.document, schema("session power"))
    cheaper = threes.document["plans"][0]["cheaper"]
    assert [(way["glasses"], way["answers"]) for way in cheaper] == [(260, 65), (66, 33), (52, 26)]
    like = ("session", "plan", "Like", "--like-the-first", "--draw", "D1", "--draw", "D2")
    dated = ("--all-assessors", "--held-on", "2026-03-20")
    told = " ".join(oakpanel(*like, "--reference", "D1", *dated).out.split())
    assert "The reference is always D1 (constant)" in told
    assert "3 glasses each in one set" in told
    power = oakpanel("session", "power", "--pairs", "--assessors", "26", "--one-way", "--json")
    found = power.document["plans"][0]
    assert [round(at["power"], 2) for at in found["power"] if at["d_prime"] == 1.0] == [0.85]
