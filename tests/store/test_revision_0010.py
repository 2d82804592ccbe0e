"""Revision 0010: booths' users of a server lose the tables, are named, and get their views."""

from __future__ import annotations

import gzip
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest
from sqlalchemy import text

from panel.store.booth_role import booth_users, make_booth_role
from panel.store.engine import Store, connect, locate
from panel.store.server_check import strange_rules
from panel.store.upgrading import upgrade_database
from tests.conftest import FIXED_NOW, server_database

ROLE = "booth_of_before"
HOUSE = Path(__file__).parents[1] / "old_houses" / "house_0009.sql.gz"


@pytest.fixture
def before(postgres_server: str) -> Iterator[Store]:
    """Give a house of revision 0009 with a booths' user as it was made then."""
    with server_database(postgres_server) as url:
        with psycopg.connect(url, autocommit=True) as server:
            server.execute("SET check_function_bodies = off")
            server.execute(gzip.decompress(HOUSE.read_bytes()))
            server.execute(f"CREATE ROLE {ROLE} LOGIN".encode())
            for rights in ("SELECT ON public.score", "SELECT, UPDATE (taken_at) ON public.serving"):
                server.execute(f"GRANT {rights} TO {ROLE}".encode())
        store = connect(locate(url))
        yield store
        with store.write() as db:
            db.execute(text(f"DROP OWNED BY {ROLE}"))
            db.execute(text(f"DROP ROLE {ROLE}"))
        store.close()


def test_booths_lose_the_tables_and_the_upgrade_says_so(before: Store) -> None:
    named = before.url.render_as_string(hide_password=False)
    assert booth_users(before.url) == {ROLE}
    assert upgrade_database(named, now=FIXED_NOW).booth_users == (ROLE,)
    reads = text(f"SELECT has_any_column_privilege('{ROLE}', 'public.' || :table, 'SELECT')")
    with before.read() as db:
        assert not any(db.scalar(reads, {"table": name}) for name in ("score", "serving"))
    for _ in ("made", "looked at again"):
        make_booth_role(before, ROLE)
        with before.read() as db:
            assert list(strange_rules(db.connection())) == []
            assert not any(db.scalar(reads, {"table": name}) for name in ("score", "serving"))
    assert booth_users(before.url) == {ROLE}
