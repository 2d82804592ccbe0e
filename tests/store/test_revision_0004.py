"""Up to revision 0004: notes stay whole, what is no number goes, and the log vouches for both."""

from __future__ import annotations

import gzip
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from datetime import datetime
from pathlib import Path

import psycopg
import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from panel.errors import StoreError
from panel.store.engine import Store
from panel.store.findings import Level
from panel.store.log_findings import log_findings
from panel.store.opening import open_store
from panel.store.shape_check import strange_shapes
from panel.store.upgrading import upgrade_database

HOUSES = Path(__file__).parents[1] / "old_houses"
LONG = "smoke and tar, " * 60
HOUSE = "house_0003"
NONE = {"sqlite": "9e999", "postgresql": "'NaN'"}
DAMAGE = (
    "UPDATE score SET value = {none} WHERE serving_id = (SELECT min(serving_id) FROM score)",
    "UPDATE serving_note SET text = '{long}' "
    "WHERE serving_id = (SELECT min(serving_id) FROM serving_note)",
    "INSERT INTO sign_in_guard (person_id, failures, wait_s) SELECT max(id), 9, 90000 FROM person",
)
"""What another tool, or an older program, can have left."""


def damage(dialect: str) -> list[str]:
    return [each.format(none=NONE[dialect], long=LONG) for each in DAMAGE]


@pytest.fixture(params=["file", "server"])
def named(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    if request.param == "file":
        path = tmp_path / "house.sqlite"
        path.write_bytes(gzip.decompress((HOUSES / f"{HOUSE}.sqlite.gz").read_bytes()))
        with closing(sqlite3.connect(path)) as file, file:
            for statement in damage("sqlite"):
                file.execute(statement)
        return str(path)
    url: str = request.getfixturevalue("postgres_url")
    with psycopg.connect(url, autocommit=True) as server:
        server.execute("SET check_function_bodies = off")
        server.execute(gzip.decompress((HOUSES / f"{HOUSE}.sql.gz").read_bytes()))
        server.execute("SET search_path = public")
        for statement in damage("postgresql"):
            server.execute(statement.encode())
    return url


@pytest.fixture
def counted(named: str) -> int:
    with closing(_any(named)) as store, store.read() as db:
        return int(db.scalar(text("SELECT count(*) FROM score")) or 0)


def _any(named: str) -> Store:
    from panel.store.engine import connect, locate

    return connect(locate(named))


@pytest.fixture
def upgraded(named: str, counted: int, fixed_now: datetime) -> Iterator[Store]:
    upgrade_database(named, now=fixed_now)
    with closing(open_store(named)) as store:
        yield store


def asked(store: Store, sql: str) -> Sequence[object]:
    with store.read() as db:
        return list(db.scalars(text(sql)))


REFUSED: dict[str, str] = {
    "a score that is no number": "UPDATE score SET value = {none}",
    "a note without an end": "UPDATE serving_note SET long_before = NULL, text = '{long}'",
    "a wait of days": "UPDATE sign_in_guard SET wait_s = 90000",
    "a second head": "INSERT INTO log_head (id, entries, chain_hex) VALUES (2, 7, 'x')",
    "a second secret": "INSERT INTO sign_in_secret VALUES (2, 'x')",
}


def refuse(store: Store) -> None:
    none = NONE[store.url.get_backend_name()]
    for what, statement in REFUSED.items():
        try:
            with store.write() as db:
                db.connection().execute(text(statement.format(none=none, long=LONG)))
        except (IntegrityError, StoreError):
            continue
        pytest.fail(f"{what} was let in")


@pytest.mark.slow
def test_what_was_damaged_is_put_right_and_refused_from_then_on(
    upgraded: Store, counted: int
) -> None:
    lost = counted - int(str(asked(upgraded, "SELECT count(*) FROM score")[0]))
    assert lost > 0
    assert asked(upgraded, "SELECT text FROM serving_note WHERE long_before IS NOT NULL") == [LONG]
    assert asked(upgraded, "SELECT max(wait_s) FROM sign_in_guard") == [3600]
    with upgraded.read() as db:
        assert strange_shapes(db.connection()) == []
        bad = [f for f in log_findings(db, upgraded.url) if f.level is Level.FAULT]
        told = asked(upgraded, "SELECT body_json FROM log_entry ORDER BY id DESC LIMIT 1")
    assert bad == []
    refuse(upgraded)
    assert f'"rows":{{"score":{lost},"serving_note":1}}' in str(told[0])


def test_no_booth_at_a_server_waits_for_more_than_an_hour(
    postgres_store: Store,
) -> None:
    asking = "SELECT oakpanel_waiting({at}, 90000, timestamp '2026-03-14 18:00')"
    moments: dict[str, Callable[[int], bool]] = {
        "timestamp '2026-03-14 17:59'": lambda left: left == 3540,
        "timestamp '2026-03-14 16:59'": lambda left: left == 0,
        "timestamp '2026-03-13 18:00'": lambda left: left == -1,
    }
    with postgres_store.read() as db:
        for at, due in moments.items():
            assert due(int(db.scalar(text(asking.format(at=at))) or 0)), at
