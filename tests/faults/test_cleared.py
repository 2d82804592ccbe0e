"""What an erasure names as emptied: by its link, so that neither a body nor a number fools it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import pytest
from sqlalchemy import text
from sqlalchemy.orm import Session

from panel.records.erase import erase_person
from panel.store.engine import Store
from panel.store.log import append_entry
from panel.store.log_check import LogReading, read_log
from panel.store.log_findings import log_findings
from tests.houses.small import add_house

BACK = "UPDATE log_entry SET body_json = :body, nonce_hex = :nonce WHERE id = :number"
RENUMBERED = "UPDATE log_entry SET id = id + 100 WHERE id > :number"
MOVED = "UPDATE log_entry SET id = :to WHERE id = :number"
EMPTY = "UPDATE log_entry SET body_json = NULL, nonce_hex = NULL WHERE id = :number"
NAMED = "SELECT id, kept_json FROM log_entry WHERE kept_json LIKE '%cleared%'"


@dataclass(frozen=True)
class Erased:
    """A house out of which A2 was erased, and the entries of before."""

    store: Store
    bodies: dict[int, tuple[str, str]]
    cleared: list[int]


@pytest.fixture
def house(store: Store, fixed_now: datetime) -> Erased:
    with store.write() as db:
        add_house(db, fixed_now)
    for by in ("M1", "A2", "M1", "A2", "M1"):
        with store.write() as db:
            append_entry(db, at=fixed_now, by=by, action="told", details={})
    with store.read() as db:
        bodies = {row[0]: (row[1], row[2]) for row in entries(db, "body_json, nonce_hex")}
    with store.write() as db:
        erase_person(db, "A2", keep_scores=False, now=fixed_now, by="M1")
    with store.read() as db:
        cleared = [row[0] for row in entries(db, "body_json") if row[1] is None]
    assert len(cleared) >= 2
    return Erased(store, bodies, cleared)


def entries(db: Session, columns: str) -> list[Any]:
    return list(db.execute(text(f"SELECT id, {columns} FROM log_entry ORDER BY id")))


def edited(store: Store, *edits: tuple[str, Mapping[str, object]]) -> LogReading:
    """Read the log after edits that are given up again."""
    with store.read() as db:
        for statement, values in edits:
            db.execute(text(statement), values)
        return read_log(db.connection())


def test_an_erasure_names_entries_by_number_and_link(house: Erased) -> None:
    with house.store.read() as db:
        [[_, kept]] = list(db.execute(text(NAMED)))
        links = {row[0]: row[1] for row in entries(db, "chain_hex")}
    told = json.loads(kept)
    assert told["cleared"] == house.cleared
    assert told["cleared_links"] == [links[number] for number in house.cleared]
    assert edited(house.store).sound


def test_a_body_put_back_is_found(house: Erased) -> None:
    """The chain holds with it: the entry is the one of before."""
    number = house.cleared[-1]
    body, nonce = house.bodies[number]
    found = edited(house.store, (BACK, {"body": body, "nonce": nonce, "number": number}))
    assert found.broken_at is None
    assert found.misnamed
    assert not found.sound


def test_a_number_that_is_named_hides_no_other_entry(house: Erased) -> None:
    """All that follows is moved on, so that another entry has the number; it is emptied."""
    number = house.cleared[-1]
    shifted = [(MOVED, {"number": at, "to": at + 1}) for at in range(len(house.bodies) + 1, 0, -1)]
    found = edited(house.store, *shifted, (EMPTY, {"number": number}))
    assert found.broken_at is None
    assert found.emptied == [number]


def test_a_number_alone_is_looked_up_as_an_older_program_wrote_it(
    house: Erased, fixed_now: datetime
) -> None:
    """What was named before there were links must still be there, under its number."""
    with house.store.write() as db:
        kept = {"cleared": house.cleared}
        append_entry(db, at=fixed_now, by="M1", action="erased", details={}, kept=kept)
    assert edited(house.store).sound
    moved = edited(house.store, (RENUMBERED, {"number": house.cleared[0] - 1}))
    assert moved.broken_at is None
    assert moved.misnamed


def test_it_is_said_which_entry_to_see(house: Erased) -> None:
    number = house.cleared[0]
    body, nonce = house.bodies[number]
    with house.store.read() as db:
        db.execute(text(BACK), {"body": body, "nonce": nonce, "number": number})
        said = [each.words for each in log_findings(db, house.store.url) if each.about == "log"]
    last = len(house.bodies) + 1
    assert f"What entry {last} names as emptied holds something, or is not there." in said[0]
