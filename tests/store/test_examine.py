"""What `db check` finds, and what it says."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from sqlalchemy import text

from analysis.as_json import as_json
from panel.kinds import EventKind
from panel.store import examine as examining
from panel.store.casks import Cask, Filling, FillingEvent
from panel.store.engine import Store, sqlite_module
from panel.store.examine import (
    Examination,
    Finding,
    Level,
    examine,
    version_finding,
)
from panel.store.log import LogEntry
from panel.store.opening import file_of
from tests.houses.small import add_house


@pytest.fixture
def house(store: Store, fixed_now: datetime) -> Store:
    with store.write() as db:
        add_house(db, fixed_now)
    return store


def about(found: Examination, what: str) -> Finding:
    [finding] = [finding for finding in found.findings if finding.about == what]
    return finding


def test_a_sound_database_has_nothing_against_it(house: Store) -> None:
    found = examine(house)
    assert {f.about for f in found.findings if f.level is not Level.GOOD} <= {"sqlite", "room"}
    assert found.counts["person"] == 2
    assert found.counts["score"] == 4
    assert found.version == sqlite_module().sqlite_version
    assert as_json(found)["worst"] == found.worst


def test_a_kind_of_session_that_nobody_knows_is_named(house: Store) -> None:
    with house.write() as db:
        db.execute(text("UPDATE panel_session SET kind = 'tongues'"))
    found = about(examine(house), "kinds")
    assert found.level is Level.FAULT
    assert "does not know: tongues." in found.words


@pytest.mark.parametrize(
    ("edit", "what"),
    [
        ("INSERT INTO oakpanel_revision VALUES ('0001')", "single rows"),
        ("INSERT INTO sign_in_secret VALUES (2, 'ab')", "single rows"),
        ("INSERT INTO log_head SELECT 2, entries, chain_hex FROM log_head", "single rows"),
        ("INSERT INTO log_head SELECT 2, entries, chain_hex FROM log_head", "log"),
        ("UPDATE log_head SET id = 7", "log"),
    ],
)
def test_a_table_of_one_row_has_one(house: Store, edit: str, what: str) -> None:
    with house.write() as db:
        db.execute(text("PRAGMA ignore_check_constraints=ON"))  # as a tool can that means to
        db.execute(text(edit))
    assert about(examine(house), what).level is Level.FAULT


@pytest.mark.parametrize(
    ("version", "level"),
    [
        ("3.6.23", Level.GOOD),
        ("3.7.0", Level.WARNING),
        ("3.40.1", Level.WARNING),
        ("3.51.2", Level.WARNING),
        ("3.51.3", Level.GOOD),
        ("3.53.4", Level.GOOD),
    ],
)
def test_the_versions_with_the_known_fault_are_named(version: str, level: Level) -> None:
    assert version_finding(version).level is level


def test_a_changed_log_is_a_fault(house: Store) -> None:
    with house.write() as db:
        entry = db.get(LogEntry, 1)
        assert entry is not None
        entry.body_json = "{}"
    found = examine(house)
    assert found.worst is Level.FAULT
    assert "at entry 1 or before" in about(found, "log").words


def test_loose_references_are_a_fault(house: Store) -> None:
    house.close()
    raw = sqlite_module().connect(file_of(house.url))
    raw.execute("INSERT INTO person_name (person_id, full_name) VALUES (77, 'Nobody')")
    raw.commit()
    raw.close()
    finding = about(examine(house), "references")
    assert (finding.level, finding.words[:36]) == (
        Level.FAULT,
        "1 rows point to records that are not",
    )
    assert "person_name" in finding.words


def test_a_damaged_index_is_a_fault(house: Store) -> None:
    with house.write() as db:
        db.execute(text("PRAGMA writable_schema=ON"))
        db.execute(text("DELETE FROM sqlite_master WHERE name = 'ix_serving_person_id'"))
    house.close()
    assert about(examine(house), "integrity").level is Level.FAULT


def test_a_file_open_to_others_is_a_warning(house: Store) -> None:
    file_of(house.url).chmod(0o644)
    finding = about(examine(house), "permissions")
    assert finding.level is Level.WARNING
    assert f"chmod 600 {file_of(house.url)}" in finding.words


def test_a_disk_with_little_room_is_a_warning(
    house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(examining, "LITTLE_ROOM_BYTES", 2**62)
    assert about(examine(house), "room").level is Level.WARNING


def test_a_filling_without_origin_is_named(house: Store) -> None:
    cask = Cask(number="[/x]", wood="oak", size_l=200.0)
    values = {"fill_number": 2, "fill_abv": 60.0, "fill_bulk_l": 100.0}
    with house.write() as db:
        orphan = Filling(label="[/x]/1", cask=cask, filled_on=date(2020, 1, 1), **values)
        racked = Filling(label="[/x]/2", cask=cask, filled_on=date(2021, 1, 1), **values)
        db.add_all([orphan, racked])
        db.flush()
        event = FillingEvent(filling_id=racked.id, kind=EventKind.RE_RACKED, litres=100.0)
        event.happened_on, event.parent_filling_id = date(2021, 1, 1), orphan.id
        db.add(event)
    finding = about(examine(house), "origins")
    assert finding.level is Level.WARNING
    assert finding.words.startswith("1 fillings have neither a make nor parents ([/x]/1):")


def test_on_a_server_it_looks_at_what_is_there(postgres_store: Store, fixed_now: datetime) -> None:
    with postgres_store.write() as db:
        add_house(db, fixed_now)
    found = examine(postgres_store)
    assert (found.library, found.worst) == ("postgresql", Level.GOOD)
    assert {finding.about for finding in found.findings} == {
        *("tables", "log", "records", "last seen", "origins"),
    }
