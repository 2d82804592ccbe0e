"""The booths' own user on a server: it can do a booth's work and cannot read the key."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import pytest
from sqlalchemy import func, select, text

from panel.errors import DatabaseReadOnly, SignInRefused, StoreError
from panel.kinds import CallReason, Fault, SessionStatus
from panel.records.people import set_pin
from panel.store import booth_queries as booth
from panel.store.booth_role import CLOSED, GRANTS, make_booth_role
from panel.store.engine import Store
from panel.store.log_check import read_log
from panel.store.opening import make_database, open_store
from panel.store.people import SignInGuard
from panel.store.revisions import REVISION_TABLE
from panel.store.sessions import Score, Serving
from panel.store.tables import METADATA
from tests.conftest import FIXED_NOW, server_database
from tests.houses.small import add_house


@pytest.fixture(scope="module")
def house(postgres_server: str) -> Iterator[Store]:
    with server_database(postgres_server) as url:
        store = make_database(url)
        with store.write() as db:
            add_house(db, FIXED_NOW, SessionStatus.OPEN)
            set_pin(db, "A2", "2486", now=FIXED_NOW, by="M1")
        yield store
        store.close()


@pytest.fixture(scope="module")
def booths(house: Store) -> Iterator[Store]:
    store = open_store(make_booth_role(house, "panel_booth").url)
    yield store
    store.close()
    drop(house, "panel_booth")


def drop(house: Store, *roles: str) -> None:
    """Take users away again: they are the server's, not the database's."""
    with house.write() as db:
        for role in roles:
            db.execute(text(f"DROP OWNED BY {role}"))
            db.execute(text(f"DROP ROLE {role}"))


def read(store: Store, table: str) -> None:
    with store.read() as db:
        db.execute(text(f"SELECT * FROM {table}")).all()


def test_the_booth_is_somebody_else(booths: Store) -> None:
    with booths.read() as db:
        assert db.scalar(text("SELECT current_user")) == "panel_booth"


@pytest.mark.parametrize("table", sorted({*METADATA.tables, REVISION_TABLE} - set(GRANTS)), ids=str)
def test_what_is_not_granted_cannot_be_read(booths: Store, table: str) -> None:
    with pytest.raises(DatabaseReadOnly, match="may not do that"):
        read(booths, table)


def test_the_key_is_among_what_is_not_granted() -> None:
    assert not set(CLOSED) & set(GRANTS)
    assert {"key_row", "key_secret", "planned_draw", "draw", "cask", "filling"} <= (
        set(METADATA.tables) - set(GRANTS)
    )


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE panel_session SET status = 'revealed'",
        "UPDATE serving SET status = 'void'",
        "UPDATE session_assessor SET knew_key = false",
        "DELETE FROM score_change",
        "UPDATE score_change SET value = 1",
        "UPDATE public.person SET pin_hash = NULL",
        "INSERT INTO person_role VALUES (2, 'lead')",
        "SELECT body_json FROM log_entry",
        "UPDATE log_entry SET body_json = NULL",
        "DELETE FROM log_entry",
        "CREATE TABLE mine (id integer)",
    ],
)
def test_what_a_booth_has_no_business_with_is_refused(booths: Store, statement: str) -> None:
    def run() -> None:
        with booths.write() as db:
            db.execute(text(statement))

    with pytest.raises(DatabaseReadOnly, match="may not do that"):
        run()


def test_a_whole_glass_is_scored(house: Store, booths: Store, fixed_now: datetime) -> None:
    later = fixed_now + timedelta(minutes=5)
    with pytest.raises(SignInRefused):  # a wrong try first: its count is kept and forgotten again
        booth.sign_in(booths, "EV1", "A2", "1357", now=fixed_now)
    seat = booth.sign_in(booths, "EV1", "A2", "2486", now=fixed_now)
    with booths.write() as db:
        glass = booth.take_glass(db, seat, "804", fixed_now)
    with booths.write() as db:
        booth.save_score(db, seat, glass, 1, 55.0, later)
    with booths.write() as db:
        booth.save_score(db, seat, glass, 1, None, later)
    with booths.write() as db:
        booth.save_rest_zero(db, seat, glass, later)
    with booths.write() as db:
        booth.mark_fault(db, seat, glass, Fault.SOAPY, later)
        booth.mark_fault(db, seat, glass, Fault.RUBBER, later, on=False)
        booth.save_note(db, seat, glass, "like the quay", later)
        booth.call_lead(db, seat, CallReason.WATER, later, glass)
        booth.not_at_best(db, seat, later, on=False)
    with booths.write() as db:
        booth.finish_glass(db, seat, glass, later)
    with booths.read() as db:
        assert booth.tray(db, seat) is not None
    with house.read() as db:
        assert db.scalar(select(func.count()).select_from(SignInGuard)) == 0
        assert read_log(db.connection()).sound
        assert db.scalar(select(Score.value).where(Score.serving_id == glass)) == 0.0
        finished = db.get(Serving, glass)
        assert finished is not None
        assert finished.finished_at == later


def test_made_again_it_keeps_its_password_and_loses_what_was_added(house: Store) -> None:
    first = make_booth_role(house, "panel_again")
    assert first.password is not None
    assert first.password in first.url
    with house.write() as db:
        db.execute(text("GRANT SELECT ON key_row TO panel_again"))
    again = make_booth_role(house, "panel_again")
    assert again.password is None
    store = open_store(again.url)
    with pytest.raises(DatabaseReadOnly):
        read(store, "key_row")
    store.close()
    drop(house, "panel_again")


def test_a_user_who_reads_the_key_by_another_way_is_refused(house: Store) -> None:
    with house.write() as db:
        db.execute(text("CREATE ROLE all_seeing"))
        db.execute(text("GRANT SELECT ON key_row TO all_seeing"))
        db.execute(text("CREATE ROLE panel_seeing LOGIN IN ROLE all_seeing"))
    with pytest.raises(StoreError, match="can read 'key_row' by another way"):
        make_booth_role(house, "panel_seeing")
    drop(house, "panel_seeing", "all_seeing")


@pytest.mark.parametrize("name", ["", "Booth", "booth; DROP", 'a"b', "pg_read_all_data", "x" * 64])
def test_a_name_that_cannot_be_one_is_refused(house: Store, name: str) -> None:
    with pytest.raises(StoreError, match="cannot be a user's name"):
        make_booth_role(house, name)


def test_the_owner_is_no_booth(house: Store) -> None:
    with pytest.raises(StoreError, match="owns tables or the server"):
        make_booth_role(house, "postgres")


def test_a_file_has_no_users(store: Store) -> None:
    with pytest.raises(StoreError, match="on PostgreSQL only"):
        make_booth_role(store, "panel_booth")
