"""`db upgrade`: a backup first, then all revisions or none."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from sqlalchemy import select, text, update
from sqlalchemy.engine import URL

from analysis.as_json import as_json
from panel.errors import (
    DatabaseLocked,
    NewerDatabase,
    NoDatabase,
    SessionsOpen,
    TablesChanged,
)
from panel.kinds import SessionStatus
from panel.store import opening, upgrading
from panel.store.engine import Store, connect, locate
from panel.store.opening import file_of, find_revision, open_store
from panel.store.people import Person
from panel.store.revisions import HEAD, REVISION_TABLE, REVISIONS, check_tables
from panel.store.sessions import PanelSession
from panel.store.upgrading import hold_off_booths, migrate, upgrade_database
from tests.conftest import FIXED_NOW
from tests.houses.small import add_house
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
    postgres_store: Store, newer_program: None, fixed_now: datetime
) -> None:
    done = upgrade_database(named(postgres_store), now=fixed_now)
    assert (done.after, done.backup) == (NEXT_ONE, None)
    assert "cooper" in columns(postgres_store)


@pytest.fixture(params=["store", "postgres_store"])
def house(request: pytest.FixtureRequest) -> Store:
    """A house with one evening, open, in a file and on a server."""
    made: Store = request.getfixturevalue(request.param)
    with made.write() as db:
        add_house(db, FIXED_NOW, SessionStatus.OPEN)
        db.add(PanelSession(name="EV 2", status=SessionStatus.SEALED, key_hash="00"))
    return made


def named(store: Store) -> str:
    if store.url.get_backend_name() == "sqlite":
        return str(store.url.database)
    return store.url.render_as_string(hide_password=False)


def set_stages(store: Store, stage: SessionStatus) -> None:
    with store.write() as db:
        db.execute(update(PanelSession).values(status=stage))


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (False, "session EV1 is open, .* run `oakpanel session close EV1`, then upgrade"),
        (True, "sessions EV 2, EV1 are open, .* close 'EV 2'` and `oakpanel session close EV1`"),
    ],
)
def test_nothing_is_upgraded_while_a_session_is_open(
    house: Store, newer_program: None, fixed_now: datetime, more: bool, said: str
) -> None:
    if more:
        set_stages(house, SessionStatus.OPEN)
    before = columns(house)
    with pytest.raises(SessionsOpen, match=said):
        upgrade_database(named(house), now=fixed_now)
    assert columns(house) == before
    assert find_revision(house.url) == HEAD
    if house.url.get_backend_name() == "sqlite":
        assert list(file_of(house.url).parent.glob("*backup*")) == []
    set_stages(house, SessionStatus.CLOSED)
    assert upgrade_database(named(house), now=fixed_now).after == NEXT_ONE


def test_a_session_opened_after_the_first_look_is_seen_too(house: Store, tmp_path: Path) -> None:
    with pytest.raises(SessionsOpen, match="session EV1 is open"):
        migrate(house.url, versions=with_next(tmp_path / "v"))
    assert find_revision(house.url) == HEAD


def impatient(store: Store) -> URL:
    """The database to somebody who waits for no lock."""
    return store.url.update_query_dict({"options": "-c lock_timeout=50"})


def test_an_upgrade_waits_for_a_save_under_way_on_a_server(
    postgres_store: Store, tmp_path: Path
) -> None:
    versions = with_next(tmp_path / "v")
    with postgres_store.write() as db:
        check_tables(db)
        with pytest.raises(DatabaseLocked):
            migrate(impatient(postgres_store), versions=versions)
        db.add(Person(code="M1"))
    assert find_revision(postgres_store.url) == HEAD
    migrate(postgres_store.url, versions=versions)
    with postgres_store.read() as db:
        assert db.scalar(select(Person.code)) == "M1"


def test_a_save_waits_for_an_upgrade_under_way_on_a_server(postgres_store: Store) -> None:
    booths = connect(impatient(postgres_store))
    with postgres_store.write() as db:
        hold_off_booths(db.connection(), postgres_store.url)
        with pytest.raises(DatabaseLocked), booths.write() as theirs:
            check_tables(theirs)
        db.execute(text(f"UPDATE {REVISION_TABLE} SET version_num = :n"), {"n": NEXT_ONE})
    with pytest.raises(TablesChanged), booths.write() as theirs:
        check_tables(theirs)
    booths.close()
