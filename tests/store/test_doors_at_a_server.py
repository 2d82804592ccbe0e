"""What somebody with a shell and the booths' password tried, each attack as it was run.

None of it is told by a plan, a count or an estimate, and none of it goes without a trace.
"""

from __future__ import annotations

import hashlib
import json
import secrets
from collections.abc import Iterator
from dataclasses import dataclass

import psycopg
import pytest
from psycopg.errors import InsufficientPrivilege
from sqlalchemy import text

from panel.kinds import Fault
from panel.store import booth_queries as booth
from panel.store.booth_front import OPEN_WHEN_LEFT
from panel.store.booth_role import GRANTS, make_booth_role
from panel.store.booth_tray import Seat
from panel.store.engine import Store
from panel.store.examine import Level, examine
from panel.store.opening import make_database, open_store
from panel.store.pins import proof_of
from tests.conftest import FIXED_NOW, server_database
from tests.houses.small import add_house

ROLE = "booth_of_doors"
PINS = {"M1": "8642", "A2": "2486"}
Shell = psycopg.Connection[tuple[object, ...]]


@dataclass(frozen=True)
class House:
    """An open session on a server, in which M1 has scored a glass, and A2 sits at the shell."""

    owner: Store
    booths: Store
    url: str
    mine: Seat
    theirs: Seat
    their_glass: int

    def shell(self, seat: Seat | None = None) -> Shell:
        """Give a connection of the booths' user that shows a seat, that of A2 by default."""
        at = psycopg.connect(self.url)
        token = (seat or self.mine).token
        at.execute("SELECT set_config('oakpanel.seat', %s, false)", [token])
        at.commit()
        return at


@pytest.fixture(scope="module")
def house(postgres_server: str) -> Iterator[House]:
    with server_database(postgres_server) as url:
        owner = make_database(url)
        _furnish(owner)
        made = make_booth_role(owner, ROLE, new_password=True)
        booths = open_store(made.url)
        theirs, mine = (
            booth.sign_in(booths, "EV1", code, pin, now=FIXED_NOW) for code, pin in PINS.items()
        )
        with booths.write() as db:
            glass = booth.take_glass(db, theirs, "351", FIXED_NOW)
        with booths.write() as db:
            booth.save_scores(db, theirs, glass, {1: 62.0}, FIXED_NOW)
        with booths.write() as db:
            booth.save_note(db, theirs, glass, "wet dog", FIXED_NOW)
        with booths.write() as db:
            booth.mark_fault(db, theirs, glass, Fault.SOAPY, FIXED_NOW)
        with booths.write() as db:
            booth.not_at_best(db, theirs, FIXED_NOW)
        with owner.engine.connect() as raw:
            raw.execution_options(isolation_level="AUTOCOMMIT").execute(text("ANALYZE"))
        yield House(owner, booths, made.url, mine, theirs, glass)
        booths.close()
        with owner.write() as db:
            db.execute(text(f"DROP OWNED BY {ROLE}"))
            db.execute(text(f"DROP ROLE {ROLE}"))
        owner.close()


def _furnish(owner: Store) -> None:
    from panel.kinds import SessionStatus
    from panel.records.people import set_pin

    with owner.write() as db:
        add_house(db, FIXED_NOW, SessionStatus.OPEN)
    for code, pin in PINS.items():
        with owner.write() as db:
            set_pin(db, code, pin, now=FIXED_NOW, by="M1")


COUNTS = (
    "SELECT relname, seq_scan, seq_tup_read, idx_scan, idx_tup_fetch, n_tup_ins, n_tup_upd, "
    "n_tup_del FROM pg_stat_xact_user_tables ORDER BY relname"
)


def _tried(shell: Shell, pin: str) -> tuple[object, ...]:
    """Try a PIN and undo it; return all that the server told of it meanwhile."""
    row = shell.execute("SELECT oakpanel_salt('M1')").fetchone()
    assert row is not None
    proof = proof_of(pin, str(row[0]))
    assert proof is not None
    shell.rollback()
    for way in ("indexscan", "bitmapscan", "indexonlyscan"):
        shell.execute(f"SET LOCAL enable_{way} = off".encode())
    seat = hashlib.sha256(secrets.token_bytes(8)).hexdigest()
    before = shell.execute(COUNTS.encode()).fetchall()
    said = shell.execute(
        "SELECT * FROM oakpanel_sign_in('EV1', 'M1', %s, %s, 'shell')", [proof.hex(), seat]
    ).fetchone()
    after = shell.execute(COUNTS.encode()).fetchall()
    shell.rollback()
    reads = [
        (name, *(int(str(b)) - int(str(a)) for a, b in zip(was, now, strict=True)))
        for (name, *was), (_, *now) in zip(before, after, strict=True)
    ]
    return said, reads


def test_a_try_that_is_undone_tells_nothing_of_the_pin(house: House) -> None:
    with house.shell() as shell:
        _tried(shell, "1111")
        wrong, right = _tried(shell, "2468"), _tried(shell, PINS["M1"])
        assert wrong == right


QUALS = {
    "score": ("value > 61", "value > 62", "value IS NULL", "descriptor_version_id = 1"),
    "score_change": ("value > 61", "value > 62", "id > 0"),
    "serving_note": ("text ^@ 'wet'", "text ^@ 'dry'", "text COLLATE \"C\" >= 'w'"),
    "fault_mark": ("fault = 'soapy'", "fault = 'rubber'"),
    "session_assessor": ("not_at_best", "NOT not_at_best", "finished_at IS NULL"),
    "serving": ("taken_at IS NULL", "taken_order = 1", "code = '351'"),
    "booth_seat": ("token_hash > '8'", "token_hash < '8'"),
}
"""By table, conditions that are true of some rows of M1's alone, or of none."""
INNER = ("Actual Rows", "Actual Loops", "Rows Removed by Filter", "Rows Removed by Index Recheck")


def _below(plan: dict[str, object]) -> Iterator[tuple[object, ...]]:
    """Give what was counted at every node of a plan that is asked for A2's rows."""
    yield (plan["Node Type"], plan.get("Index Cond"), *(plan.get(name) for name in INNER))
    below = plan.get("Plans", [])
    assert isinstance(below, list)
    for each in below:
        yield from _below(each)


def _counted(shell: Shell, statement: str) -> list[tuple[object, ...]]:
    asked = f"EXPLAIN (ANALYZE, TIMING OFF, SUMMARY OFF, FORMAT JSON) {statement}"
    row = shell.execute(asked.encode()).fetchone()
    shell.rollback()
    assert row is not None
    plans = row[0] if isinstance(row[0], list) else json.loads(str(row[0]))
    return list(_below(plans[0]["Plan"]))


def _estimate(shell: Shell, statement: str) -> object:
    row = shell.execute(f"EXPLAIN (FORMAT JSON) {statement}".encode()).fetchone()
    assert row is not None
    plans = row[0] if isinstance(row[0], list) else json.loads(str(row[0]))
    return plans[0]["Plan"]["Plan Rows"]


@pytest.mark.parametrize("off", ["bitmapscan", "seqscan"])
@pytest.mark.parametrize("table", QUALS)
def test_a_plan_tells_nothing_of_another_seats_rows(house: House, table: str, off: str) -> None:
    """Below the gathered rows every plan counts the same, whatever was asked of them.

    How PostgreSQL orders conditions: `order_qual_clauses` of its planner, and its manual on rules
    and privileges ("Rules and Privileges": what is cheap and leakproof goes before a barrier).
    """
    with house.shell() as shell:
        shell.execute(f"SET enable_{off} = off".encode())
        shell.commit()
        whole = _counted(shell, f"SELECT * FROM {table}")
        for qual in QUALS[table]:
            counted = _counted(shell, f"SELECT * FROM {table} WHERE {qual}")
            assert counted[-len(whole) :] == whole or counted[1:] == whole[1:], qual


def test_an_estimate_tells_nothing_of_another_seats_scores(house: House) -> None:
    with house.shell() as shell:
        told = {
            _estimate(shell, f"SELECT * FROM score WHERE value = {value}")
            for value in (62, 63, 11.5)
        }
        assert len(told) == 1


@pytest.mark.parametrize("way", ["UPDATE score SET value = 1", "DELETE FROM score"])
def test_a_change_tells_nothing_of_another_seats_scores(house: House, way: str) -> None:
    whole = f"serving_id = {house.their_glass} AND value >"
    with house.shell() as shell:
        above, below = (_counted(shell, f"{way} WHERE {whole} {value}") for value in (61, 62))
        assert above == below


@pytest.mark.parametrize("savepoint", [False, True])
def test_a_call_that_is_undone_stops_no_other_glass(house: House, savepoint: bool) -> None:
    called = (
        "INSERT INTO lead_call (session_id, person_id, serving_id, reason, called_at) "
        "VALUES (%s, %s, %s, 'not safe', now())"
    )
    with house.shell() as shell:
        glasses = [row[0] for row in shell.execute("SELECT id FROM serving").fetchall()]
        shell.rollback()
        assert glasses
        for glass in glasses:
            if savepoint:
                shell.execute("SAVEPOINT here")
            shell.execute(called, [house.mine.session_id, house.mine.person_id, glass])
            if savepoint:
                shell.execute("RELEASE SAVEPOINT here")
            assert shell.execute("SELECT * FROM stopped_glass").fetchall() == []
            shell.rollback()


def _told(house: House, shell: Shell, action: str, rows: dict[str, dict[str, str]]) -> None:
    body = json.dumps({"action": action, "by": "A2", "session": "EV1"})
    shell.execute("SELECT oakpanel_append(now()::timestamp, %s, %s)", [body, json.dumps(rows)])


def test_a_kept_score_is_not_changed_unseen(house: House) -> None:
    with house.booths.write() as db:
        glass = booth.take_glass(db, house.mine, "804", FIXED_NOW)
    with house.booths.write() as db:
        booth.save_scores(db, house.mine, glass, {1: 40.0}, FIXED_NOW)
    changed = f"UPDATE score SET value = 95 WHERE serving_id = {glass}"
    score = {"score": {f"{glass},1": "0" * 32}}
    for action in ("own mark changed", "scores kept"):
        with house.shell() as shell:
            newest = shell.execute(
                f"SELECT max(id) FROM score_change WHERE serving_id = {glass}".encode()
            ).fetchone()
            assert newest is not None
            shell.execute(changed.encode())
            for rows in (score, {**score, "score_change": {str(newest[0]): "0" * 32}}):
                with pytest.raises(InsufficientPrivilege), shell.transaction():
                    _told(house, shell, action, rows)
            shell.rollback()
    with house.shell() as shell:
        shell.execute(changed.encode())
        shell.commit()
    said = [each.words for each in examine(house.owner).findings if each.level is Level.FAULT]
    assert any("is 95 and its history says 40" in words for words in said), said


LEAVES = ("descriptor", "person", "serving", "score", "score_change", "serving_note", "fault_mark")
WRITTEN = (
    "UPDATE session_assessor SET not_at_best = false",
    "UPDATE score SET value = 1",
    "DELETE FROM serving_note",
)
PUT_IN = (
    "INSERT INTO score VALUES (<glass>, 1, 100, now())",
    "INSERT INTO score_change (serving_id, descriptor_version_id, changed_at, by_code) "
    "VALUES (<glass>, 1, now(), 'M1')",
    "INSERT INTO serving_note VALUES (<glass>, 'mine', now())",
    "INSERT INTO lead_call (session_id, person_id, reason, called_at) "
    "VALUES (<session>, <me>, 'water', now())",
    f"INSERT INTO booth_deed VALUES (<session>, <me>, '{'1' * 32}', 'x', now())",
    "SELECT oakpanel_append(now()::timestamp, "
    '\'{"action":"note kept","by":"M1","session":"EV1"}\', \'{}\')',
)


def _rows(shell: Shell, table: str) -> int:
    return len(shell.execute(f"SELECT * FROM {table}".encode()).fetchall())


def _filled(statement: str, named: dict[str, int]) -> bytes:
    for word, number in named.items():
        statement = statement.replace(word, str(number))
    return statement.encode()


def test_the_token_of_a_seat_that_was_left_opens_and_writes_nothing(house: House) -> None:
    seat, glass = house.theirs, house.their_glass
    named = {"<glass>": glass, "<session>": seat.session_id, "<me>": seat.person_id}
    with house.shell(seat) as shell:
        assert all(_rows(shell, table) for table in LEAVES)
    with house.booths.write() as db:
        booth.leave_seat(db, seat, FIXED_NOW)
    with house.shell(seat) as shell:
        kept = {table for table in GRANTS if _rows(shell, table)}
        assert kept <= OPEN_WHEN_LEFT
        assert "booth_seat" in kept  # by it a booth is told that it was left
        for statement in WRITTEN:
            assert shell.execute(statement.encode()).rowcount == 0
        for statement in PUT_IN:
            with pytest.raises(InsufficientPrivilege), shell.transaction():
                shell.execute(_filled(statement, named))
    again = booth.sign_in(house.booths, "EV1", "M1", PINS["M1"], now=FIXED_NOW)
    with house.shell(again) as shell:
        assert all(_rows(shell, table) for table in LEAVES)
