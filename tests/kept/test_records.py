"""The digest of the records holds every column that the fit reads, and no other."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy import Boolean, Date, DateTime, Enum, Float, Integer, Table, event, text
from sqlalchemy.orm import Session

from panel.frames import scores_frame
from panel.kept.records import READ, records_digest
from panel.kinds import EventKind, GlassKind, SessionKind, SessionStatus
from panel.store.casks import Filling, FillingEvent, Regauge
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.house_setting import HouseSetting
from panel.store.key import KeyRow
from panel.store.lexicon import DescriptorVersion
from panel.store.opening import make_database
from panel.store.sessions import PanelSession, Serving
from panel.store.tables import METADATA
from panel.store.training import Training
from tests.conftest import FIXED_NOW
from tests.houses.small import add_house

DAY = date(2026, 11, 1)
LISTED = {f"{each.class_.__tablename__}.{each.key}" for part in READ for each in part}
TOLD_BY = {
    **dict.fromkeys(["panel_session.status"], "which sessions count"),
    **dict.fromkeys(["event_reversal.event_id"], "an event taken back is not in the digest"),
    **dict.fromkeys(
        ["filling_event.litres", "filling_event.abv", "filling.make_id"],
        "phenols and contents: ages go by days and parents alone",
    ),
}
"""Columns that need not be in the digest, though the frame's queries name them, and why."""
OF_STOCK = frozenset({"make", "regauge", "release", "release_part", "draw_part", "fault_mark"})
"""Tables that are read on the way to an age, which hangs on none of their columns."""
NAMES_ONLY = frozenset(
    {
        *("serving.id", "session_assessor.session_id", "session_assessor.person_id"),
        *("descriptor_version.version", "filling_event.id", "house_setting.name"),
        *("house_setting.value", "descriptor.id", "person.id", "draw.id", "cask.id"),
        *("filling_event.kind", "key_row.tray", "panel_session.id", "serving.finished_at"),
    }
)
"""In the digest, though a change of them alone need not change what is read: places and ties."""


@pytest.fixture
def house(store: Store) -> Store:
    fill(store)
    return store


@pytest.fixture(scope="module")
def edited_house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Store, str, str]]:
    """Give a house whose edits are all taken back, its digest and its frame: made once."""
    made = make_database(str(tmp_path_factory.mktemp("edited") / "panel.sqlite"))
    fill(made)
    with made.read() as db:
        unedited = records_digest(db, DAY), frame_text(db)
    yield made, *unedited
    with made.read() as db:
        assert (records_digest(db, DAY), frame_text(db)) == unedited
    made.close()


def fill(store: Store) -> None:
    with store.write() as db:
        add_house(db, FIXED_NOW)
        parent = db.get(Filling, 1)
        assert parent is not None
        child = db.get(Filling, 2)
        assert child is not None
        parent.filled_on = date(2018, 5, 1)
        kind, on = EventKind.TOPPED, date(2020, 1, 1)
        db.add(FillingEvent(filling=child, kind=kind, happened_on=on, parent=parent, litres=5.0))
        db.get_one(Draw, 1).drawn_on = db.get_one(Draw, 2).drawn_on = date(2026, 1, 5)
        db.get_one(Draw, 1).batch = "L1"
        db.add(HouseSetting(name="dry_stores", value="Nave"))
        theirs = {"begun_on": date(2026, 3, 1), "taken_in_on": date(2026, 10, 1)}
        db.add(Training(person_id=db.query(Serving.person_id).limit(1).scalar(), **theirs))
        for glass in db.query(Serving):
            glass.finished_at = FIXED_NOW


def other(table: Table, column: Any) -> Any:
    """Return a value that a column may take and does not hold in this house."""
    if f"{table}.{column.name}" == "serving.read_as":
        return "804"
    if f"{table}.{column.name}" == "panel_session.kind":
        return SessionKind.OWN_WORDS.value
    kind = column.type
    if isinstance(kind, Enum):
        return kind.enums[-1] if len(kind.enums) > 1 else None
    values: tuple[tuple[Any, Any], ...] = (
        (Boolean, True),
        (Date, "2019-02-03"),
        (DateTime, "2019-02-03 01:02:03.000000"),
        (Integer, 7),
        (Float, 17.5),
    )
    return next((value for of, value in values if isinstance(kind, of)), "other")


def changed_rows(table: Table, column: Any) -> str:
    first = f"SELECT min(rowid) FROM {table}"
    return f"UPDATE {table} SET {column.name} = :value WHERE rowid = ({first})"


def columns() -> Iterator[Any]:
    for table in METADATA.sorted_tables:
        for column in table.columns:
            yield pytest.param(table, column, id=f"{table}.{column.name}")


def frame_text(db: Session) -> str:
    frame = scores_frame(db, as_of=DAY, revealed_only=True)
    return str(frame.to_csv())


def edited(db: Session, table: Table, column: Any) -> bool:
    """Change one value past the program; say whether there was a row to change."""
    connection = db.connection()
    connection.exec_driver_sql("PRAGMA ignore_check_constraints=ON")
    connection.exec_driver_sql("PRAGMA defer_foreign_keys=ON")
    done = connection.execute(text(changed_rows(table, column)), {"value": other(table, column)})
    return done.rowcount > 0


@pytest.mark.parametrize(("table", "column"), columns())
def test_a_column_changes_the_digest_where_the_fit_reads_it_and_nowhere_else(
    edited_house: tuple[Store, str, str], table: Table, column: Any
) -> None:
    name = f"{table.name}.{column.name}"
    store, digest, frame = edited_house
    with store.read() as db:
        if not edited(db, table, column):
            assert name not in LISTED, f"the house has no row to try {name} on"
            return
        now = records_digest(db, DAY)
        if name in LISTED:
            told = now != digest or name in NAMES_ONLY
            assert told, f"{name} is listed and changes nothing"
        elif name not in TOLD_BY:
            assert now == digest, f"{name} is in the digest and not in the list"
        if now == digest:
            assert frame_text(db) == frame, f"the frame reads {name}, and the digest does not"


def test_no_query_of_the_frame_names_a_column_that_no_list_holds(house: Store) -> None:
    said: list[str] = []
    event.listen(
        house.engine, "before_cursor_execute", lambda _c, _k, statement, *_: said.append(statement)
    )
    with house.read() as db:
        scores_frame(db, as_of=DAY, revealed_only=True)
    found = {
        f"{table}.{column}"
        for statement in said
        for table, column in re.findall(r"\b([a-z_]+)\.([a-z_]+)\b", statement)
        if table in METADATA.tables and table not in OF_STOCK
    }
    assert found
    # What an age hangs on is told by `test_a_column_changes_...`: the rest of a filling is stock.
    stock = {f"filling.{column.name}" for column in Filling.__table__.columns}
    stock |= {f"filling_event.{column.name}" for column in FillingEvent.__table__.columns}
    stock |= {"cask.wood", "cask.size_l", "draw.volume_ml", "draw.kind", "serving.warm_up"}
    loaded = {f"descriptor_version.{c.name}" for c in DescriptorVersion.__table__.columns}
    assert found - LISTED - set(TOLD_BY) - stock - loaded == set()


def test_only_sessions_that_count_are_told(house: Store) -> None:
    with house.write() as db:
        first = records_digest(db, DAY)
        later = PanelSession(name="EV2", held_on=DAY, status=SessionStatus.CLOSED, key_hash="00")
        db.add(later)
        db.flush()
        key = KeyRow(session_id=later.id, code="777", draw_id=1, kind=GlassKind.TEST, replicate=1)
        db.add(key)
        db.flush()
        assert records_digest(db, DAY) == first
        later.status = SessionStatus.REVEALED
        db.flush()
        assert records_digest(db, DAY) != first
        assert records_digest(db, DAY - timedelta(days=1)) == first


def test_a_cask_that_nobody_nosed_and_a_gauge_change_nothing(house: Store) -> None:
    with house.write() as db:
        first = records_digest(db, DAY)
        old = db.get_one(Filling, 1)
        new = {name: getattr(old, name) for name in ("cask_id", "make_id", "fill_abv")}
        db.add(Filling(**new, label="C9/1", filled_on=DAY, fill_number=1, fill_bulk_l=190.0))
        db.add(Regauge(filling=old, gauged_on=DAY, bulk_l=100, abv=60, method="dipped"))
        old.hold_reason = "a leak"
        db.flush()
        assert records_digest(db, DAY) == first


def test_an_ancestor_of_what_was_nosed_counts(house: Store) -> None:
    with house.write() as db:
        first = records_digest(db, DAY)
        old = db.get_one(Filling, 1)
        new = {name: getattr(old, name) for name in ("cask_id", "make_id", "fill_abv")}
        grand = Filling(**new, label="C9/1", filled_on=DAY, fill_number=1, fill_bulk_l=190.0)
        db.add(grand)
        kind, on = EventKind.RE_RACKED, date(2018, 5, 1)
        db.add(FillingEvent(filling=old, kind=kind, happened_on=on, parent=grand, litres=5.0))
        db.flush()
        second = records_digest(db, DAY)
        assert second != first
        grand.filled_on = date(2012, 1, 1)
        db.flush()
        assert records_digest(db, DAY) != second
