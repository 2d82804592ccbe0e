"""Rules of rows and functions on a server: what was changed past the program is found."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import URL, text

from panel.errors import StoreError
from panel.store import booth_queries as booth
from panel.store.booth_role import HANDS, KEEPERS, booth_users, make_booth_role
from panel.store.booth_rules import POLICIES
from panel.store.engine import Store, connect, locate
from panel.store.log import append_entry
from panel.store.log_check import read_log
from panel.store.migrations.booth_rules_0004 import CHANGED, FUNCTIONS
from panel.store.migrations.server_rules import change_rules
from panel.store.opening import make_database, open_store
from panel.store.server_check import strange_rules
from panel.store.shape_check import strange_shapes
from tests.conftest import server_database
from tests.houses.at_the_booth import CODES, NAME, PINS, START, open_evening


@pytest.fixture(scope="module")
def house(postgres_server: str) -> Iterator[Store]:
    with server_database(postgres_server) as url:
        store = make_database(url)
        make_booth_role(store, "booth_of_rules", new_password=True)
        yield store
        with store.write() as db:
            db.execute(text("DROP OWNED BY booth_of_rules"))
            db.execute(text("DROP ROLE booth_of_rules"))
        store.close()


CHANGES = {
    "ALTER TABLE score DISABLE ROW LEVEL SECURITY": "lacks its closing of score",
    "DROP POLICY booth ON score": "lacks its rule booth of score",
    "ALTER POLICY booth ON score USING (true)": "strange rule booth of score",
    "CREATE POLICY also ON score USING (true)": "strange rule also of score",
    "ALTER POLICY booth ON lead_call WITH CHECK (true)": "strange rule booth of lead_call",
    "ALTER POLICY booth ON score TO booth_of_rules": "strange rule booth of score",
    "DROP FUNCTION oakpanel_salt": "lacks its function oakpanel_salt",
    "CREATE OR REPLACE FUNCTION oakpanel_salt(typed text) RETURNS text LANGUAGE sql STABLE "
    "SECURITY DEFINER SET search_path = pg_catalog, public, pg_temp AS 'SELECT typed'": (
        "strange function oakpanel_salt"
    ),
    "ALTER FUNCTION oakpanel_salt SET search_path = public": "strange function oakpanel_salt",
    "ALTER FUNCTION oakpanel_salt SECURITY INVOKER": "strange function oakpanel_salt",
    "CREATE FUNCTION mine() RETURNS integer LANGUAGE sql AS 'SELECT 1'": "strange function mine",
    "GRANT EXECUTE ON FUNCTION oakpanel_link TO PUBLIC": "everybody may run the function",
    "ALTER FUNCTION oakpanel_salt OWNER TO postgres": "runs as a user who can log in",
    "GRANT SELECT ON score TO booth_of_rules": "may reach the table score past the booths' views",
    "DROP VIEW oakpanel_booth.score CASCADE": "the booths' view score is not there",
    "GRANT EXECUTE ON FUNCTION oakpanel_append TO booth_of_rules": "though its seat was left",
    "DROP FUNCTION oakpanel_booth.oakpanel_append": "the booths' function oakpanel_append is not",
    "ALTER VIEW oakpanel_booth.score SET (security_barrier = false)": "view score is not the one",
    "ALTER VIEW oakpanel_booth.score OWNER TO postgres": "view score is not the one",
    "CREATE VIEW oakpanel_booth.draw AS SELECT * FROM public.draw": "view draw is not the one",
    "ALTER FUNCTION oakpanel_booth.score SECURITY INVOKER": "view score is not the one",
}


@pytest.mark.slow
def test_a_rule_that_was_changed_is_found(house: Store) -> None:
    with house.engine.connect() as connection:
        for change, told in CHANGES.items():
            assert strange_shapes(connection) == []
            connection.execute(text(change))
            found = strange_shapes(connection)
            assert any(told in line for line in found), (change, found)
            connection.rollback()


def test_and_and_or_never_stand_in_one_rule() -> None:
    """What a server gives back is compared without its parentheses."""
    for policy in POLICIES:
        for words in (policy.seen, policy.written):
            assert not (" OR " in (words or "") and " AND " in (words or "")), policy


def test_an_owner_who_may_make_users_needs_no_more(postgres_server: str) -> None:
    """A house's own account on a shared server: it owns its database and may make users."""
    with server_database(postgres_server) as url:
        chief = connect(locate(url))
        name = chief.url.database
        with chief.engine.begin() as db:
            db.execute(text("CREATE ROLE weir LOGIN CREATEROLE PASSWORD 'quay'"))
            db.execute(text(f"ALTER DATABASE {name} OWNER TO weir"))
        own = chief.url.set(username="weir", password="quay", drivername="postgresql")
        store = make_database(own.render_as_string(hide_password=False))
        open_evening(store)
        for _ in ("made", "mended"):
            made = make_booth_role(store, "booth_of_weir", new_password=True)
        booths = open_store(made.url)
        seat = booth.sign_in(booths, NAME, "A1", PINS["A1"], now=START)
        with booths.write() as db:
            booth.take_glass(db, seat, CODES[0], START)
        booths.close()
        with store.write() as db:
            change_rules(db.connection(), CHANGED, FUNCTIONS)
        with store.read() as db:
            assert list(strange_rules(db.connection())) == []
            nobody = [db.scalar(KEEPERS), db.scalar(HANDS)]
            for each in nobody:
                assert not db.scalar(text(f"SELECT pg_has_role('weir', '{each}', 'USAGE')"))
        store.close()
        _look_as_a_lead_of_the_house(chief, own)
        with chief.engine.begin() as db:
            db.execute(text(f"ALTER DATABASE {name} OWNER TO CURRENT_USER"))
            for role in ("wren", "booth_of_weir", *nobody, "weir"):
                db.execute(text(f"DROP OWNED BY {role} CASCADE"))
                db.execute(text(f"DROP ROLE {role}"))
        chief.close()


def _look_as_a_lead_of_the_house(chief: Store, own: URL) -> None:
    """A lead with a user of their own who belongs to the owner's is bound by no rule of rows."""
    with chief.engine.begin() as db:
        db.execute(text("CREATE ROLE wren LOGIN PASSWORD 'quay' IN ROLE weir"))
    store = connect(own.set(username="wren", drivername="postgresql+psycopg"))
    with store.write() as db:
        assert db.scalar(text("SELECT count(*) FROM serving")) == len(CODES) * len(PINS)
        append_entry(db, at=START, by="A1", action="deed", details={})
        assert read_log(db.connection()).sound
    assert booth_users(store.url) == {"booth_of_weir"}
    store.close()


def test_a_keeper_who_can_log_in_is_refused(house: Store) -> None:
    with house.read() as db:
        keeper = db.scalar(KEEPERS)
    with house.write() as db:
        db.execute(text(f"ALTER ROLE {keeper} LOGIN"))
    with pytest.raises(StoreError, match="can log in"):
        make_booth_role(house, "booth_of_rules")
    with house.write() as db:
        db.execute(text(f"ALTER ROLE {keeper} NOLOGIN"))


def test_booths_import_none_of_it() -> None:
    root = Path(__file__).parents[2] / "panel"
    asking = [
        str(path.relative_to(root))
        for path in root.rglob("*.py")
        if "panel.store.booth_rules" in path.read_text("utf-8")
    ]
    assert sorted(asking) == ["store/booth_role.py", "store/opening.py", "store/server_check.py"]
