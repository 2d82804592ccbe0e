"""What is kept about one person, and how a code is found in the log."""

from __future__ import annotations

import json
from datetime import datetime

import pytest

from panel.kinds import SessionStatus
from panel.store.engine import Store
from panel.store.log import append_entry
from panel.store.person_record import entries_about, mentions, person_record, without
from tests.houses.small import add_house


@pytest.fixture
def house(store: Store, fixed_now: datetime) -> Store:
    with store.write() as db:
        add_house(db, fixed_now, SessionStatus.OPEN)
    return store


def test_all_that_is_kept_is_there(house: Store) -> None:
    with house.read() as db:
        record = json.loads(json.dumps(person_record(db, "A2"), default=str))
    assert (record["code"], record["name"], record["roles"]) == ("A2", "Ilse Weir", ["assessor"])
    [evening] = record["sessions"]
    assert (evening["session"], evening["seat"]) == ("EV1", 2)
    first = evening["glasses"][0]
    assert first["scores"] == {"bonfire": 40.0}
    assert first["changes"][0]["score"] == 40.0
    assert (first["faults"], first["note"]) == (["rubber"], "like the shed, A2")
    assert record["calls"][0]["reason"] == "water"
    assert [entry["number"] for entry in record["log"]] == [1, 2]


def test_neither_pin_nor_others_nor_draws_are_there(house: Store) -> None:
    with house.read() as db:
        told = json.dumps(person_record(db, "A2"), default=str)
    assert "Maren" not in told
    assert "shed, M1" not in told
    assert "C100" not in told  # the session is open: only codes
    assert "scrypt" not in told


def test_health_like_facts_only_when_asked(house: Store) -> None:
    with house.read() as db:
        assert "not_at_best" not in json.dumps(person_record(db, "A2"), default=str)
        assert '"not_at_best": true' in json.dumps(
            person_record(db, "A2", private=True), default=str
        )


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("A2", True),
        ("seen by A2, then M1", True),
        ("(A2)", True),
        ("A22", False),
        ("BA2", False),
        ("A2-1", False),
        ("X-A2", False),
        ("a2", False),
    ],
)
def test_a_code_is_found_as_a_word_of_its_own(text: str, found: bool) -> None:
    assert mentions(text, "A2") is found


def test_a_code_with_signs_in_it_is_found(store: Store, fixed_now: datetime) -> None:
    with store.write() as db:
        for code in ('[/x]"\\', "50%_", "Åse"):
            append_entry(db, at=fixed_now, by=code, action="deed", details={})
    with store.read() as db:
        found = {
            code: [entry.id for entry in entries_about(db, code)]
            for code in ('[/x]"\\', "50%_", "Åse", "deed", "50", "nobody")
        }
    assert found == {
        '[/x]"\\': [1],
        "50%_": [2],
        "Åse": [3],
        "deed": [1, 2, 3],
        "50": [2],
        "nobody": [],
    }


def test_a_code_is_taken_out_of_what_hands_wrote() -> None:
    assert without("A2 and a2, not A22", "A2", "gone-1") == "gone-1 and gone-1, not A22"
