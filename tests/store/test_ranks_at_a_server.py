"""What the booths' user learns of the key's order while it asks which glasses are stopped: nothing.

Rows of the key stand in its index by draw. A cursor, `LIMIT 1`, a plan or a counter that stopped
where a glass was found would tell its rank among the draws.
"""

from __future__ import annotations

from collections.abc import Iterator

import psycopg
import pytest
from sqlalchemy import text

from panel.kinds import CallReason, SessionStatus
from panel.records.people import set_pin
from panel.store import booth_queries as booth
from panel.store import stopped_view
from panel.store.booth_role import make_booth_role
from panel.store.engine import Store
from panel.store.opening import make_database, open_store
from panel.store.shape_check import strange_shapes
from panel.store.upgrading import upgrade_database
from tests.conftest import FIXED_NOW, server_database
from tests.houses.small import add_house

ROLE = "booth_of_ranks"
Shell = psycopg.Connection[tuple[object, ...]]


@pytest.fixture(scope="module")
def house(postgres_server: str) -> Iterator[tuple[Store, str, str]]:
    """Give an owner, the booths' URL and a seat's token, in a session with one call made."""
    with server_database(postgres_server) as url:
        owner = make_database(url)
        with owner.write() as db:
            add_house(db, FIXED_NOW, SessionStatus.OPEN)
        with owner.write() as db:
            set_pin(db, "A2", "2486", now=FIXED_NOW, by="M1")
        made = make_booth_role(owner, ROLE)
        booths = open_store(made.url)
        seat = booth.sign_in(booths, "EV1", "A2", "2486", now=FIXED_NOW)
        with booths.write() as db:
            glass = booth.take_glass(db, seat, "351", FIXED_NOW)
        with booths.write() as db:
            booth.call_lead(db, seat, CallReason.NOT_SAFE, FIXED_NOW, glass)
        with owner.engine.connect() as raw:  # so that no plan changes between two looks
            raw.execution_options(isolation_level="AUTOCOMMIT").execute(text("ANALYZE"))
        yield owner, made.url, seat.token
        booths.close()
        with owner.write() as db:
            db.execute(text(f"DROP OWNED BY {ROLE}"))
            db.execute(text(f"DROP ROLE {ROLE}"))
        owner.close()


READ = (
    "SELECT relname, coalesce(seq_tup_read, 0) + coalesce(idx_tup_fetch, 0) "
    "FROM pg_stat_xact_user_tables ORDER BY relname"
)
NO_WAY = ("", "hashjoin", "mergejoin", "nestloop", "seqscan", "indexscan", "sort")
"""What any user may forbid the planner, one after the other."""


def told(url: str, token: str, without: str) -> tuple[object, bool, str, int]:
    """Return all that one row of the stopped glasses tells at a shell: counts, and a plan."""
    with psycopg.connect(url) as shell:
        shell.execute("SELECT set_config('oakpanel.seat', %s, false)", [token])
        if without:
            shell.execute(f"SET enable_{without} = off".encode())
        shell.commit()
        shell.execute("DECLARE k CURSOR FOR SELECT serving_id FROM stopped_glass")
        shell.execute("FETCH 1 FROM k")
        after_one = shell.execute(READ.encode()).fetchall()
        shell.execute("FETCH ALL FROM k")
        after_all = shell.execute(READ.encode()).fetchall()
        shell.rollback()
        plan = shell.execute(
            "EXPLAIN (ANALYZE, TIMING OFF, SUMMARY OFF, COSTS OFF, BUFFERS OFF) "
            "SELECT * FROM stopped_glass LIMIT 1"
        ).fetchall()
        alone = shell.execute("SELECT oakpanel_stopped() LIMIT 1").fetchall()
    return after_one, after_one == after_all, str(plan), len(alone)


def swap_draws(owner: Store) -> None:
    """Let the two glasses of A2's tray change what is in them, and so their rank by draw."""
    swapped = "UPDATE key_row SET draw_id = :d, replicate = :r WHERE id = :id"
    with owner.write() as db:
        asked = text("SELECT id, draw_id FROM key_row WHERE tray = 'A2' ORDER BY id")
        (one, its), (other, others) = db.execute(asked).all()
        db.execute(text(swapped), {"d": others, "r": 2, "id": one})
        db.execute(text(swapped), {"d": its, "r": 1, "id": other})
        db.execute(text(swapped), {"d": others, "r": 1, "id": one})


def test_how_many_rows_were_read_does_not_hang_on_the_order_of_the_key(
    house: tuple[Store, str, str],
) -> None:
    owner, url, token = house
    first = [told(url, token, without) for without in NO_WAY]
    swap_draws(owner)
    assert [told(url, token, without) for without in NO_WAY] == first
    for _, gathered_at_once, plan, alone in first:
        assert gathered_at_once
        assert alone == 1
        assert not any(word in plan for word in ("key_row", "Removed"))


def test_only_the_stopped_glasses_reach_the_key(house: tuple[Store, str, str]) -> None:
    owner, _, _ = house
    reach = {
        "views": "SELECT DISTINCT c.relname FROM pg_rewrite r JOIN pg_class c ON c.oid = "
        "r.ev_class JOIN pg_depend d ON d.objid = r.oid AND d.classid = 'pg_rewrite'::regclass "
        "WHERE d.refobjid = 'key_row'::regclass",
        "functions": "SELECT proname FROM pg_proc WHERE prosrc LIKE '%key_row%' AND prolang <> 12",
        "rules": "SELECT policyname FROM pg_policies WHERE coalesce(qual, '') || "
        "coalesce(with_check, '') LIKE '%key_row%'",
    }
    with owner.read() as db:
        found = {kind: list(db.scalars(text(asked))) for kind, asked in reach.items()}
    assert found == {"views": [stopped_view.NAME], "functions": [], "rules": []}


def test_a_view_of_before_is_told_and_mended_by_making_the_user_again(
    house: tuple[Store, str, str],
) -> None:
    owner, _, _ = house
    with owner.write() as db:
        db.execute(text(f"CREATE OR REPLACE VIEW {stopped_view.NAME} AS {stopped_view.GLASSES}"))
    with owner.read() as db:
        said = strange_shapes(db.connection())
    assert len(said) == 1
    assert said[0].startswith("the view stopped_glass is not the one of this program (where an")
    named = owner.url.render_as_string(hide_password=False)
    assert "made anew" in upgrade_database(named, now=FIXED_NOW).sentence()
    with owner.read() as db:
        assert strange_shapes(db.connection()) == []
    assert "nothing was changed" in upgrade_database(named, now=FIXED_NOW).sentence()
    make_booth_role(owner, ROLE)
    with owner.read() as db:
        assert strange_shapes(db.connection()) == []
