"""The chain of the log: what was changed is found, what was erased does not break it."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import datetime

import pytest
from sqlalchemy import text
from sqlalchemy.orm import Session

from panel.store.engine import Store
from panel.store.log import (
    FIRST_LINK,
    LogEntry,
    append_entry,
    canonical,
    clear_entries,
    head_hash,
)
from panel.store.log_check import read_log

Change = Callable[[Session, LogEntry], None]


@pytest.fixture
def written(store: Store, fixed_now: datetime) -> Store:
    for number in range(1, 6):
        with store.write() as db:
            append_entry(db, at=fixed_now, by="M1", action="deed", details={"number": number})
    return store


def entry(db: Session, number: int) -> LogEntry:
    found = db.get(LogEntry, number)
    assert found is not None
    return found


def test_an_empty_log_holds(store: Store) -> None:
    with store.read() as db:
        assert (read_log(db.connection()).broken_at, head_hash(db)) == (None, FIRST_LINK)


def test_the_chain_holds_and_its_head_is_the_last_link(written: Store) -> None:
    with written.read() as db:
        assert read_log(db.connection()).broken_at is None
        assert head_hash(db) == entry(db, 5).chain_hex


def test_the_hashes_are_what_the_page_says(written: Store) -> None:
    with written.read() as db:
        first = entry(db, 1)
        assert first.nonce_hex is not None
        assert first.body_json is not None
        nonce = bytes.fromhex(first.nonce_hex)
        assert len(nonce) == 16
        digest = hashlib.sha256(nonce + first.body_json.encode()).digest()
        assert first.digest_hex == digest.hex()
        assert first.kept_json is not None
        kept = hashlib.sha256(first.kept_json.encode()).digest()
        assert first.chain_hex == hashlib.sha256(bytes(32) + digest + kept).hexdigest()


def test_two_equal_deeds_do_not_look_alike(written: Store, fixed_now: datetime) -> None:
    with written.write() as db:
        one = append_entry(db, at=fixed_now, by="M1", action="deed", details={})
        two = append_entry(db, at=fixed_now, by="M1", action="deed", details={})
        first, second = entry(db, one.number), entry(db, two.number)
        assert first.body_json == second.body_json
        assert first.digest_hex != second.digest_hex


def test_the_order_of_details_does_not_matter() -> None:
    assert canonical({"b": 1, "a": "Ä"}) == canonical({"a": "Ä", "b": 1}) == '{"a":"Ä","b":1}'


def _other_body(_db: Session, third: LogEntry) -> None:
    third.body_json = (third.body_json or "").replace("M1", "A2")


def _other_nonce(_db: Session, third: LogEntry) -> None:
    third.nonce_hex = "00" * 16


def _other_digest(_db: Session, third: LogEntry) -> None:
    third.digest_hex = "11" * 32


def _taken_out(db: Session, third: LogEntry) -> None:
    db.delete(third)


@pytest.mark.parametrize(
    ("change", "found_at"),
    [(_other_body, 3), (_other_nonce, 3), (_other_digest, 3), (_taken_out, 4)],
)
def test_a_changed_entry_is_found(written: Store, change: Change, found_at: int) -> None:
    with written.write() as db:
        change(db, entry(db, 3))
    with written.read() as db:
        assert read_log(db.connection()).broken_at == found_at


def test_an_entry_is_whole_without_its_body_only_if_a_later_one_names_it(
    written: Store, fixed_now: datetime
) -> None:
    with written.write() as db:
        clear_entries(db, [entry(db, 3)])
        append_entry(db, at=fixed_now, by="M1", action="person erased", details={})
    with written.read() as db:
        assert read_log(db.connection()).sound
    with written.write() as db:
        second = entry(db, 2)
        second.body_json = second.nonce_hex = None
    with written.read() as db:
        reading = read_log(db.connection())
    assert (reading.broken_at, reading.emptied) == (None, [2])


def test_an_entry_that_is_cut_off_leaves_the_end_behind(written: Store) -> None:
    with written.write() as db:
        db.delete(entry(db, 5))
    with written.read() as db:
        reading = read_log(db.connection())
    assert (reading.broken_at, reading.cut) == (None, True)


def test_a_lost_end_stops_no_write_and_is_found(written: Store, fixed_now: datetime) -> None:
    with written.write() as db:
        db.execute(text("DELETE FROM log_head"))
    with written.write() as db:
        append_entry(db, at=fixed_now, by="M1", action="deed", details={})
    with written.read() as db:
        reading = read_log(db.connection())
    assert (reading.broken_at, reading.entries, reading.cut) == (None, 6, True)


DAMAGE = {
    "a link that is none": ["UPDATE log_head SET chain_hex = 'not one'"],
    "a link of a strange length": ["UPDATE log_head SET chain_hex = '123'"],
    "no head, and a last entry that is none": [
        "UPDATE log_entry SET chain_hex = 'not one' WHERE id = 5",
        "DELETE FROM log_head",
    ],
    "a count that is full": ["UPDATE log_head SET entries = 2147483647"],
    "a number out of its order": ["UPDATE log_entry SET id = 0 WHERE id = 5"],
    "no digest": ["UPDATE log_entry SET digest_hex = 'x', kept_json = '[', body_json = '{'"],
}
ON_FILE_ONLY = {
    "two heads": [
        "PRAGMA ignore_check_constraints=ON",
        "INSERT INTO log_head (id, entries, chain_hex) VALUES (2, 7, 'x')",
    ],
    "a count that is none": ["UPDATE log_head SET entries = 'many'"],
    "a number beyond all": ["UPDATE log_entry SET id = 9223372036854775807 WHERE id = 5"],
    "a time that is none": ["UPDATE log_entry SET written_at = 'then'"],
}
ON_SERVER_ONLY = {
    "a number that is the last there is": ["UPDATE log_entry SET id = 2147483647 WHERE id = 5"],
    "an entry in the next places": [
        "INSERT INTO log_entry (id, written_at, digest_hex, chain_hex) VALUES "
        "(6, now(), '', 'x'), (7, now(), '', 'y')"
    ],
}


@pytest.mark.parametrize(
    ("where", "damage"),
    [
        *(("store", damage) for damage in (*DAMAGE, *ON_FILE_ONLY)),
        *(("postgres_store", damage) for damage in (*DAMAGE, *ON_SERVER_ONLY)),
    ],
)
def test_a_bad_row_stops_no_write_and_is_reported(
    request: pytest.FixtureRequest, where: str, damage: str, fixed_now: datetime
) -> None:
    house: Store = request.getfixturevalue(where)
    for number in range(1, 6):
        with house.write() as db:
            append_entry(db, at=fixed_now, by="M1", action="deed", details={"number": number})
    with house.write() as db:
        for statement in {**DAMAGE, **ON_FILE_ONLY, **ON_SERVER_ONLY}[damage]:
            db.connection().execute(text(statement))
    for number in (6, 7):
        with house.write() as db:
            append_entry(db, at=fixed_now, by="M1", action="deed", details={"number": number})
    with house.read() as db:
        assert not read_log(db.connection()).sound
        bodies = db.scalars(text("SELECT body_json FROM log_entry")).all()
    assert sum("7}" in (body or "") for body in bodies) == 1
