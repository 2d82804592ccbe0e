"""The booths' own user, with a shell and a seat of its own: it reaches that seat and nothing else.

Plain SQL past the program, as whoever knows the booths' password could type it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import psycopg
import pytest
from psycopg.errors import InsufficientPrivilege
from sqlalchemy import text
from sqlalchemy.orm import Session

from panel.kinds import CallReason, Fault
from panel.store import booth_queries as booth
from panel.store.booth_role import make_booth_role
from panel.store.booth_tray import Seat
from panel.store.engine import Store
from panel.store.log import TURN
from panel.store.log_check import read_log
from panel.store.migrations.booth_functions_0003 import LINK
from panel.store.opening import make_database, open_store
from tests.conftest import server_database
from tests.houses.at_the_booth import CODES, NAME, PINS, START, open_evening
from tests.store.refused_to_a_seat import REFUSED

ROLE = "booth_of_one_seat"


@dataclass(frozen=True)
class Evening:
    """An open evening on a server: A1 has scored, A2 sits at the booth that is tried here."""

    owner: Store
    booths: Store
    url: str
    seat: Seat
    other: Seat
    glass: int
    others_glass: int

    def at_the_shell(self, *, token: str | None = None) -> psycopg.Connection[tuple[object, ...]]:
        """Give a connection of the booths' user, with the seat's token shown."""
        shell = psycopg.connect(self.url)
        shown = self.seat.token if token is None else token
        shell.execute("SELECT set_config('oakpanel.seat', %s, true)", [shown])
        return shell

    def fill_in(self, statement: str) -> str:
        """Put this evening's numbers into a statement."""
        numbers = {
            **{"mine": self.glass, "theirs": self.others_glass, "session": self.seat.session_id},
            **{"me": self.seat.person_id, "them": self.other.person_id},
        }
        for name, number in numbers.items():
            statement = statement.replace(f"<{name}>", str(number))
        return statement

    def all_records(self) -> list[object]:
        """Return every row that a booth could be after."""
        with self.owner.read() as db:
            tables = sorted({*TABLES, "person", "log_entry", "log_head", "booth_seat"})
            return [
                db.execute(text(f"SELECT * FROM {name} ORDER BY 1, 2")).all() for name in tables
            ]


TABLES = {
    "serving": "person_id <> <me>",
    "session_assessor": "person_id <> <me>",
    "booth_seat": "person_id <> <me>",
    "lead_call": "person_id <> <me>",
    "own_word": "person_id <> <me>",
    "booth_deed": "person_id <> <me>",
    "score": "serving_id = <theirs>",
    "score_change": "serving_id = <theirs>",
    "fault_mark": "serving_id = <theirs>",
    "serving_note": "serving_id = <theirs>",
    "own_score": "serving_id = <theirs>",
    "own_score_change": "serving_id = <theirs>",
    "answer": "serving_id = <theirs>",
    "answer_change": "serving_id = <theirs>",
}
"""Where rows of several seats lie, and which of them are another's."""


def _score(store: Store, seat: Seat) -> int:
    with store.write() as db:
        glass = booth.take_glass(db, seat, CODES[0], START)
    with store.write() as db:
        booth.save_rest_zero(db, seat, glass, START)
        booth.mark_fault(db, seat, glass, Fault.SOAPY, START)
        booth.save_note(db, seat, glass, "like the quay", START)
        booth.call_lead(db, seat, CallReason.WATER, START)
    return glass


def _add_words(db: Session, seats: list[Seat], glass: int) -> None:
    """Put in own words past the booth, which names them in an evening of own words only."""
    for who in seats:
        db.execute(
            text(
                "INSERT INTO booth_deed (session_id, person_id, number_hex, job_hash, done_at) "
                f"VALUES ({who.session_id}, {who.person_id}, '{'0' * 32}', 'x', now())"
            )
        )
        db.execute(
            text(
                "INSERT INTO own_word (session_id, person_id, place, word, named_at) "
                f"VALUES ({who.session_id}, {who.person_id}, 1, 'tar', now())"
            )
        )
    db.execute(text(f"INSERT INTO own_score VALUES ({glass}, 1, 50, now())"))
    db.execute(
        text(
            "INSERT INTO own_score_change (serving_id, own_word_id, value, changed_at, by_code) "
            f"VALUES ({glass}, 1, 50, now(), 'A1')"
        )
    )
    db.execute(text(f"INSERT INTO answer VALUES ({glass}, 1, 2, now())"))
    db.execute(
        text(
            "INSERT INTO answer_change (serving_id, question, value, changed_at, by_code) "
            f"VALUES ({glass}, 1, 2, now(), 'A1')"
        )
    )


@pytest.fixture(scope="module")
def evening(postgres_server: str) -> Iterator[Evening]:
    with server_database(postgres_server) as url:
        owner = make_database(url)
        open_evening(owner)
        made = make_booth_role(owner, ROLE, new_password=True)
        booths = open_store(made.url)
        other = booth.sign_in(booths, NAME, "A1", PINS["A1"], now=START, place="left")
        seat = booth.sign_in(booths, NAME, "A2", PINS["A2"], now=START, place="right")
        glasses = _score(booths, other), _score(booths, seat)
        with owner.write() as db:
            _add_words(db, [other, seat], glasses[0])
        yield Evening(owner, booths, made.url, seat, other, glasses[1], glasses[0])
        booths.close()
        with owner.write() as db:
            db.execute(text(f"DROP OWNED BY {ROLE}"))
            db.execute(text(f"DROP ROLE {ROLE}"))
        owner.close()


@pytest.mark.parametrize("statement", REFUSED)
def test_what_is_no_business_of_a_seat_is_refused(evening: Evening, statement: str) -> None:
    with evening.at_the_shell() as shell:
        with pytest.raises(InsufficientPrivilege):
            shell.execute(evening.fill_in(statement).encode())
        shell.rollback()


def test_there_are_thirty_and_more() -> None:
    assert len(set(REFUSED)) >= 30


def test_nobody_becomes_the_keeper(evening: Evening) -> None:
    with evening.at_the_shell() as shell:
        keeper = shell.execute("SELECT 'oakpanel_keeper_' || current_database()").fetchone()
        assert keeper is not None
        with pytest.raises(InsufficientPrivilege):
            shell.execute(f"SET ROLE {keeper[0]}".encode())


@pytest.mark.parametrize("table", TABLES)
def test_rows_of_another_seat_are_not_there(evening: Evening, table: str) -> None:
    whose = evening.fill_in(TABLES[table])
    with evening.owner.read() as db:
        assert db.scalar(text(f"SELECT count(*) FROM {table} WHERE {whose}"))
    with evening.at_the_shell() as shell:
        assert shell.execute(f"SELECT * FROM {table} WHERE {whose}".encode()).fetchall() == []


@pytest.mark.parametrize("table", [*TABLES, "person", "descriptor", "session_descriptor"])
@pytest.mark.parametrize("token", ["", "0" * 32])
def test_without_a_seat_there_is_nothing(evening: Evening, table: str, token: str) -> None:
    columns = "id, code" if table == "person" else "*"
    with evening.at_the_shell(token=token) as shell:
        assert shell.execute(f"SELECT {columns} FROM {table}".encode()).fetchall() == []


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE score SET value = 1 WHERE serving_id = <theirs>",
        "DELETE FROM score WHERE serving_id = <theirs>",
        "UPDATE own_score SET value = 1",
        "UPDATE answer SET value = 1 WHERE serving_id = <theirs>",
        "DELETE FROM answer WHERE serving_id = <theirs>",
        "DELETE FROM own_word WHERE person_id = <them>",
        "UPDATE own_word SET word = 'x' WHERE person_id = <them>",
        "DELETE FROM fault_mark WHERE serving_id = <theirs>",
        "UPDATE serving_note SET text = 'x' WHERE serving_id = <theirs>",
        "UPDATE serving SET finished_at = now() WHERE id = <theirs>",
        "UPDATE session_assessor SET not_at_best = true WHERE person_id = <them>",
    ],
)
def test_what_another_seat_kept_is_not_changed(evening: Evening, statement: str) -> None:
    before = evening.all_records()
    with evening.at_the_shell() as shell:
        assert shell.execute(evening.fill_in(statement).encode()).rowcount == 0
    assert evening.all_records() == before


def test_rules_of_rows_cannot_be_left_out(evening: Evening) -> None:
    with evening.at_the_shell() as shell:
        shell.execute("SET LOCAL row_security = off")
        with pytest.raises(InsufficientPrivilege, match="row-level security"):
            shell.execute("SELECT * FROM score")


def test_statistics_of_the_server_tell_nothing(evening: Evening) -> None:
    with evening.owner.engine.connect() as owner:
        owner.execution_options(isolation_level="AUTOCOMMIT").execute(text("ANALYZE score"))
    with evening.at_the_shell() as shell:
        told = shell.execute("SELECT * FROM pg_stats WHERE tablename = 'score'").fetchall()
    assert told == []


def test_the_seat_itself_is_there(evening: Evening) -> None:
    with evening.at_the_shell() as shell:
        seen = shell.execute("SELECT person_id, place FROM booth_seat").fetchall()
        assert seen == [(evening.seat.person_id, "right")]
        codes = shell.execute("SELECT code FROM person").fetchall()
        assert codes == [("A2",)]
        glasses = shell.execute("SELECT DISTINCT serving_id FROM score").fetchall()
        assert glasses == [(evening.glass,)]


def test_the_log_holds_and_vouches_for_what_was_kept(evening: Evening) -> None:
    with evening.owner.read() as db:
        reading = read_log(db.connection())
        assert reading.sound
        assert f"{evening.glass},1" in reading.rows["score"]


def test_both_ways_to_write_the_log_queue_for_the_same_turn() -> None:
    assert f"pg_advisory_xact_lock({TURN})" in LINK
