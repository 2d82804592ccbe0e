"""The last head that this account saw: kept apart from the database, overwritten by no other."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from shutil import copy

import pytest

from panel.own_folder import NAMED, state_folder
from panel.store.engine import Store
from panel.store.log import append_entry, head_hash
from panel.store.opening import file_of, make_database, open_store
from panel.store.seen import last_seen


@pytest.fixture(autouse=True)
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(NAMED, str(tmp_path / "state"))
    return tmp_path / "state"


def deed(store: Store, at: datetime) -> str:
    with store.write() as db:
        append_entry(db, at=at, by="M1", action="deed", details={})
        return head_hash(db)


def test_what_was_written_is_seen_at_the_end(store: Store, fixed_now: datetime) -> None:
    assert last_seen(store.url) is None
    head = deed(store, fixed_now)
    store.close()
    seen = last_seen(store.url)
    assert seen is not None
    assert (seen.entries, seen.head) == (1, head)


def test_what_others_wrote_is_seen_on_opening(store: Store, fixed_now: datetime) -> None:
    head = deed(store, fixed_now)
    open_store(store.url.database).close()
    seen = last_seen(store.url)
    assert seen is not None
    assert seen.head == head


def test_only_its_owner_reads_it(store: Store, state: Path, fixed_now: datetime) -> None:
    deed(store, fixed_now)
    store.close()
    [file] = (state / "heads").iterdir()
    assert file.stat().st_mode & 0o777 == 0o600
    assert all(each.stat().st_mode & 0o077 == 0 for each in (state, state / "heads"))


def test_an_older_copy_does_not_take_its_place_unless_told(
    store: Store, tmp_path: Path, fixed_now: datetime
) -> None:
    deed(store, fixed_now)
    store.close()
    older = copy(file_of(store.url), tmp_path / "older.sqlite")
    head = deed(store, fixed_now)
    store.close()
    copy(older, file_of(store.url))
    opened = open_store(store.url.database)
    seen = last_seen(store.url)
    assert seen is not None
    assert seen.head == head
    opened.note_head(anew=True)
    opened.close()
    seen = last_seen(store.url)
    assert seen is not None
    assert seen.entries == 1


def test_another_database_in_its_place_begins_anew(store: Store, fixed_now: datetime) -> None:
    deed(store, fixed_now)
    store.close()
    file_of(store.url).unlink()
    make_database(store.url.database).close()
    assert last_seen(store.url) is None


def test_a_folder_that_cannot_be_written_keeps_nothing(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fixed_now: datetime
) -> None:
    (tmp_path / "a file").write_text("", "utf-8")
    monkeypatch.setenv(NAMED, str(tmp_path / "a file" / "state"))
    deed(store, fixed_now)
    store.close()
    assert last_seen(store.url) is None
    assert str(state_folder()).endswith("state")
