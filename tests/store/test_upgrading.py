"""`db upgrade`: a backup first, then all revisions or none."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from sqlalchemy import select, text

from analysis.as_json import as_json
from panel.errors import NewerDatabase, NoDatabase
from panel.store import opening, upgrading
from panel.store.engine import Store, locate
from panel.store.opening import HEAD, REVISION_TABLE, REVISIONS, file_of, open_store
from panel.store.people import Person
from panel.store.upgrading import upgrade_database
from tests.store.test_migrations import NEXT_ONE, columns, with_next


@pytest.fixture
def newer_program(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Let the program be one revision ahead of the databases that tests make."""
    folders = with_next(tmp_path / "v")
    for module in (opening, upgrading):
        monkeypatch.setattr(module, "REVISIONS", (*REVISIONS, NEXT_ONE))
        monkeypatch.setattr(module, "HEAD", NEXT_ONE)
    plain = upgrading.migrate
    monkeypatch.setattr(upgrading, "migrate", lambda url: plain(url, versions=folders))


def test_an_up_to_date_database_is_left_alone(store: Store, fixed_now: datetime) -> None:
    done = upgrade_database(store.url.database, now=fixed_now)
    assert as_json(done)["changed"] is False
    assert f"is up to date (tables {HEAD}); nothing was changed" in done.sentence()
    assert len(list(file_of(store.url).parent.glob("*backup*"))) == 0


def test_an_older_one_is_backed_up_and_brought_up(
    store: Store, newer_program: None, fixed_now: datetime
) -> None:
    with store.write() as db:
        db.add(Person(code="M1"))
    done = upgrade_database(store.url.database, now=fixed_now)
    assert (done.before, done.after) == (HEAD, NEXT_ONE)
    assert done.backup is not None
    assert done.backup.name == f"panel.{HEAD}.20260314T180000Z.backup"
    assert str(done.backup) in done.sentence()
    opened = open_store(store.url.database)
    assert "cooper" in columns(opened)
    with opened.read() as db:
        assert db.scalar(select(Person.code)) == "M1"
        assert db.scalar(text(f"SELECT version_num FROM {REVISION_TABLE}")) == NEXT_ONE
        assert db.scalar(text("PRAGMA foreign_keys")) == 1
    opened.close()


def test_the_backup_is_the_database_as_it_was(
    store: Store, newer_program: None, fixed_now: datetime
) -> None:
    done = upgrade_database(store.url.database, now=fixed_now)
    assert opening.find_revision(locate(str(done.backup))) == HEAD


def test_a_newer_one_is_refused_and_no_backup_made(store: Store, fixed_now: datetime) -> None:
    with store.write() as db:
        db.execute(text(f"UPDATE {REVISION_TABLE} SET version_num = '9042'"))
    with pytest.raises(NewerDatabase, match="made by a newer Oakpanel"):
        upgrade_database(store.url.database, now=fixed_now)
    assert len(list(file_of(store.url).parent.glob("*backup*"))) == 0


def test_nothing_to_upgrade_says_how_to_start(tmp_path: Path, fixed_now: datetime) -> None:
    with pytest.raises(NoDatabase, match="db init"):
        upgrade_database(str(tmp_path / "none.sqlite"), now=fixed_now)


def test_a_server_is_brought_up_without_a_backup_of_ours(
    postgres_store: Store, postgres_url: str, newer_program: None, fixed_now: datetime
) -> None:
    done = upgrade_database(postgres_url, now=fixed_now)
    assert (done.after, done.backup) == (NEXT_ONE, None)
    assert "cooper" in columns(postgres_store)
