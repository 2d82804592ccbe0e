"""Erased text is gone from the file and from what lies beside it, or it is said that it is not."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from panel.errors import DiskFull, NotAllowed
from panel.records.erase import erase_person
from panel.records.traces import touched_tables
from panel.store import erasing
from panel.store.backup import back_up_file
from panel.store.engine import Store, sqlite_module
from panel.store.erasing import Overwriting, marked, need_room, overwrite, unfinished_since
from panel.store.examine import Level, examine
from panel.store.holders import named
from panel.store.opening import file_of, open_store
from tests.conftest import FIXED_NOW
from tests.houses.small import add_house

READER = """
import sys
from panel.store.engine import sqlite_module
held = sqlite_module().connect(sys.argv[1], isolation_level=None)
held.execute("BEGIN")
held.execute("SELECT count(*) FROM person").fetchone()
print("reads", flush=True)
sys.stdin.readline()
"""
THEIRS = (b"Ilse", b"A2")


@pytest.fixture
def house(
    store: Store, fixed_now: datetime, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Store:
    monkeypatch.setenv("OAKPANEL_STATE", str(tmp_path / "state"))
    with store.write() as db:
        add_house(db, fixed_now)
    return store


def erase(store: Store, code: str = "A2", **wait: Any) -> Overwriting:
    """Do what the command does."""
    need_room(store)
    with marked(store, FIXED_NOW), store.write() as db:
        erase_person(db, code, keep_scores=False, now=FIXED_NOW, by="M1")
    return overwrite(store, touched_tables(), **wait)


def lying_about(folder: Path) -> dict[str, list[bytes]]:
    """Return which files of a folder hold what was erased."""
    held = {file.name: file.read_bytes() for file in folder.rglob("*") if file.is_file()}
    found = {name: [word for word in THEIRS if word in data] for name, data in held.items()}
    return {name: words for name, words in found.items() if words}


@contextmanager
def reader(path: Path) -> Iterator[subprocess.Popen[str]]:
    """Let another process read the database as it is now."""
    words = [sys.executable, "-c", READER, str(path)]
    with subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "reads\n"
        yield other
        end(other)


def end(other: subprocess.Popen[str]) -> None:
    """Let the reader go."""
    if other.poll() is None and other.stdin is not None:
        other.stdin.close()
        other.wait(timeout=60)


def test_nothing_is_left_in_file_log_or_state(house: Store, tmp_path: Path) -> None:
    assert lying_about(tmp_path)
    assert erase(house) == Overwriting(overwritten=True)
    assert lying_about(tmp_path) == {}
    assert unfinished_since(house) is None


def test_what_was_deleted_before_secure_delete_is_overwritten_too(
    house: Store, tmp_path: Path
) -> None:
    with house.write() as db:
        db.execute(text("PRAGMA secure_delete=OFF"))
        insert = text("INSERT INTO house_setting (name, value) VALUES ('a', :long)")
        db.execute(insert, {"long": "Ilse " * 900})
        db.execute(text("DELETE FROM house_setting"))
    erase(house)
    assert lying_about(tmp_path) == {}


def test_every_writing_connection_overwrites(house: Store) -> None:
    with house.write() as db:
        assert db.scalar(text("PRAGMA secure_delete")) == 1


def test_with_a_reader_open_it_says_so_and_is_finished_later(house: Store, tmp_path: Path) -> None:
    path = file_of(house.url)
    waited_for: list[tuple[str, ...]] = []
    with reader(path) as other:
        done = erase(house, tell=waited_for.append, patience_s=0)
        assert not done.overwritten
        assert [f"process {other.pid}" in each for each in done.held_by] == [True]
        assert waited_for == [done.held_by]
        assert lying_about(tmp_path)
        finding = next(each for each in examine(house).findings if each.about == "erasure")
        assert finding.level is Level.FAULT
        assert "An erasure of 2026-03-14 18:00 UTC is not finished" in finding.words
    done = overwrite(house, touched_tables(), patience_s=0)
    assert done.overwritten
    assert lying_about(tmp_path) == {}
    assert {each.about for each in examine(house).findings}.isdisjoint({"erasure"})


def test_a_reader_that_ends_in_time_is_waited_for(
    house: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(erasing, "BETWEEN_S", 0.01)
    with reader(file_of(house.url)) as other:
        assert erase(house, tell=lambda _: end(other)).overwritten
    assert lying_about(tmp_path) == {}


def test_another_writer_is_waited_for_too(house: Store) -> None:
    with closing(sqlite_module().connect(file_of(house.url), isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        assert not overwrite(house, (), patience_s=0).overwritten
        other.execute("ROLLBACK")
    assert overwrite(house, (), patience_s=0).overwritten


def test_an_open_program_that_reads_nothing_is_in_nobodys_way(house: Store, tmp_path: Path) -> None:
    other = open_store(house.url.database)
    with other.read() as db:
        db.execute(text("SELECT 1 FROM person")).all()
    assert erase(house, patience_s=0).overwritten
    other.close()
    assert lying_about(tmp_path) == {}


def test_a_refused_erasure_leaves_no_mark(house: Store) -> None:
    with pytest.raises(NotAllowed):
        erase(house, "M1")
    assert unfinished_since(house) is None


def test_a_mark_that_was_there_stays_when_another_erasure_is_refused(house: Store) -> None:
    with reader(file_of(house.url)):
        erase(house, patience_s=0)
        with pytest.raises(NotAllowed):
            erase(house, "M1")
    assert unfinished_since(house) == "2026-03-14 18:00 UTC"


def test_the_mark_is_its_owners_alone(house: Store) -> None:
    with marked(house, FIXED_NOW):
        mark = Path(f"{file_of(house.url)}-erasing")
        assert stat.S_IMODE(mark.stat().st_mode) == 0o600


def test_room_is_asked_before_anything_is_erased(
    house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    few = type("Usage", (), {"free": 2**20})()
    monkeypatch.setattr(erasing, "disk_usage", lambda _: few)
    with pytest.raises(DiskFull, match=r"Nothing was erased.* 1 MiB are free\. Make room first"):
        erase(house)


def test_half_files_go_and_copies_are_named(house: Store, tmp_path: Path) -> None:
    path = file_of(house.url)
    copy = back_up_file(path, tmp_path / "monday.backup").copy
    gone = [tmp_path / f".scores.csv.{2**22 + 1}.part", Path(f"{path}-journal")]
    runs = tmp_path / f".scores.csv.{os.getpid()}.part"
    for file in (*gone, runs):
        file.write_bytes(b"\0" * 8 + b"Ilse")  # a journal that begins so is no longer in use
    done = erase(house, patience_s=0)
    assert done == Overwriting(True, (), (copy,))
    assert not any(file.exists() for file in gone)
    assert runs.exists()  # somebody is still writing it


def test_who_to_close() -> None:
    assert named(()) == "the desk, booths and other programs that have it open"
    assert named(tuple("abcdefgh")) == "a, b, c, d, e, f and 2 more"


def test_a_server_writes_its_tables_anew(postgres_store: Store, fixed_now: datetime) -> None:
    with postgres_store.write() as db:
        add_house(db, fixed_now)
        before = _files(db)
    assert erase(postgres_store, patience_s=10).overwritten
    with postgres_store.read() as db:
        assert _dead_rows(db) == 0
        assert all(before[name] != number for name, number in _files(db).items())
    assert unfinished_since(postgres_store) is None


def _files(db: Any) -> dict[str, int]:
    """Return the file of each table that an erasure touches: a new one once it is written anew."""
    asked = "SELECT relname, pg_relation_filenode(oid) FROM pg_class WHERE relname = ANY(:names)"
    found = db.execute(text(asked), {"names": sorted(touched_tables())})
    return {name: number for name, number in found}


def _dead_rows(db: Any) -> int:
    said = "SELECT count(*) FROM person_name WHERE full_name LIKE 'Ilse%'"
    return int(db.scalar(text(said)))


def test_on_a_server_an_older_look_holds_it_up(postgres_store: Store, fixed_now: datetime) -> None:
    with postgres_store.write() as db:
        add_house(db, fixed_now)
    other = open_store(postgres_store.url.render_as_string(hide_password=False))
    with other.read() as db:
        db.execute(text("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ"))
        db.execute(text("SELECT 1 FROM person")).all()
        done = erase(postgres_store, patience_s=0)
        assert not done.overwritten
        assert any(each.startswith("postgres") for each in done.held_by)
        assert examine(postgres_store).worst is Level.FAULT
    other.close()
    assert overwrite(postgres_store, touched_tables(), patience_s=10).overwritten
    assert unfinished_since(postgres_store) is None
