"""Writing: all or nothing, whoever writes at the same time, whatever breaks in between."""

from __future__ import annotations

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime

import pytest
from sqlalchemy import event, func, select, text

from panel.errors import DiskFull, NotADatabase, StoreError
from panel.store.engine import Store, connect
from panel.store.house_setting import HouseSetting
from panel.store.log import LogEntry, append_entry
from panel.store.log_check import broken_link
from panel.store.opening import file_of, open_store
from panel.store.people import Person

WRITERS, ENTRIES = 4, 25


def entries(store: Store) -> int:
    with store.read() as db:
        return db.scalar(select(func.count()).select_from(LogEntry)) or 0


def run_python(script: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", script], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


def test_reading_changes_nothing(store: Store) -> None:
    with store.read() as db:
        db.add(Person(code="M1"))
        db.flush()
    with store.read() as db:
        assert db.scalar(select(Person.code)) is None


def test_an_error_inside_a_write_leaves_the_old_state(store: Store, fixed_now: datetime) -> None:
    def spoil() -> None:
        with store.write() as db:
            append_entry(db, at=fixed_now, by="M1", action="begun", details={})
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        spoil()
    assert entries(store) == 0


def test_a_process_killed_inside_a_write_leaves_the_old_state(
    store: Store, fixed_now: datetime
) -> None:
    with store.write() as db:
        append_entry(db, at=fixed_now, by="M1", action="kept", details={})
    script = f"""
import os
from datetime import UTC, datetime
from panel.store.log import append_entry
from panel.store.opening import open_store
with open_store({store.url.database!r}).write() as db:
    for number in range(50):
        append_entry(db, at=datetime(2026, 3, 14, tzinfo=UTC), by="A2", action="cut", details={{}})
    print("written, not committed", flush=True)
    os._exit(9)
"""
    killed = run_python(script)
    said, fault = killed.communicate(timeout=60)
    assert (said, fault, killed.returncode) == ("written, not committed\n", "", 9)
    assert entries(store) == 1
    with store.write() as db:  # the lock went with the process
        append_entry(db, at=fixed_now, by="M1", action="kept", details={})
    with store.read() as db:
        assert broken_link(db) is None


@pytest.mark.slow
def test_a_committed_write_is_there_for_another_process(store: Store) -> None:
    with store.write() as db:
        db.add(Person(code="M1"))
    script = f"""
from sqlalchemy import text
from panel.store.opening import open_store
with open_store({store.url.database!r}).read() as db:
    print(db.scalar(text("SELECT code FROM person")))
"""
    assert run_python(script).communicate(timeout=60) == ("M1\n", "")


def test_a_full_disk_says_so_and_leaves_the_old_state(store: Store) -> None:
    def leave_no_room(connection: object, _record: object) -> None:
        cursor = connection.cursor()  # type: ignore[attr-defined]
        pages = cursor.execute("PRAGMA page_count").fetchone()[0]
        cursor.execute(f"PRAGMA max_page_count={pages + 2}")

    small = connect(store.url)
    event.listen(small.engine, "connect", leave_no_room)

    def fill() -> None:
        with small.write() as db:
            db.add(Person(code="M1"))
            db.flush()
            db.add_all(HouseSetting(name=f"{n}", value="x" * 4000) for n in range(20))

    with pytest.raises(DiskFull, match="disk is full; make room and try again, nothing was"):
        fill()
    with small.read() as db:
        assert db.scalar(select(Person.code)) is None
        assert db.scalar(text("PRAGMA integrity_check")) == "ok"
    small.close()


def test_a_damaged_file_says_so(store: Store) -> None:
    store.close()
    path = file_of(store.url)
    content = bytearray(path.read_bytes())
    content[4096 * 2 : 4096 * 60] = b"\xff" * (4096 * 58)
    path.write_bytes(content)

    def read_all() -> None:
        damaged = open_store(store.url.database)
        with damaged.read() as db:
            for table in ("person", "panel_session", "score", "cask", "log_entry"):
                db.execute(text(f"SELECT * FROM {table}")).all()

    with pytest.raises(NotADatabase, match="damaged; go back to the last backup"):
        read_all()


def test_a_broken_rule_is_an_error_in_words(store: Store) -> None:
    def add_twice() -> None:
        with store.write() as db:
            db.add_all([Person(code="M1"), Person(code="M1")])

    with pytest.raises(StoreError, match=r"refused: UNIQUE constraint failed: person\.code"):
        add_twice()


def test_processes_that_write_at_once_all_get_through(store: Store) -> None:
    script = f"""
from datetime import UTC, datetime
from sqlalchemy import func, select
from panel.store.log import LogEntry, append_entry
from panel.store.opening import open_store
now = datetime(2026, 3, 14, tzinfo=UTC)
store = open_store({store.url.database!r})
for number in range({ENTRIES}):
    with store.write() as db:
        db.scalar(select(func.count()).select_from(LogEntry))  # reads first, as every booth does
        append_entry(db, at=now, by="A2", action="at once", details={{}})
"""
    started = [run_python(script) for _ in range(WRITERS)]
    assert [one.communicate(timeout=120) for one in started] == [("", "")] * WRITERS
    assert entries(store) == WRITERS * ENTRIES
    with store.read() as db:
        assert broken_link(db) is None


@pytest.mark.parametrize("kind", ["store", "postgres_store"])
def test_threads_that_write_at_once_keep_one_chain(
    kind: str, request: pytest.FixtureRequest, fixed_now: datetime
) -> None:
    store: Store = request.getfixturevalue(kind)

    def write_some(writer: int) -> None:
        for number in range(ENTRIES):
            with store.write() as db:
                db.scalar(select(func.count()).select_from(LogEntry))
                details = {"number": number}
                append_entry(db, at=fixed_now, by=f"A{writer}", action="at once", details=details)

    with ThreadPoolExecutor(WRITERS) as pool:
        list(pool.map(write_some, range(WRITERS)))
    assert entries(store) == WRITERS * ENTRIES
    with store.read() as db:
        assert broken_link(db) is None
