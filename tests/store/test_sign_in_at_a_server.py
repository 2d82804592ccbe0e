"""Signing in as the booths' own user: tries count whatever is undone, and tell nothing before."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Iterator

import psycopg
import pytest
from sqlalchemy import text

from panel.errors import DatabaseLocked, SeatTaken, SignInRefused, SignInWaits, WrongState
from panel.records.people import set_pin
from panel.seat.jobs import (
    CallLead,
    Job,
    KeepNote,
    KeepScores,
    LookAgain,
    MarkFault,
    OwnMark,
    PutDown,
    TakeUp,
    perform,
)
from panel.store import booth_queries as booth
from panel.store import engine
from panel.store.booth_role import make_booth_role
from panel.store.booth_tray import Seat
from panel.store.booth_user import SHOW
from panel.store.engine import Store
from panel.store.log_check import read_log
from panel.store.opening import open_store
from panel.store.pins import proof_of
from panel.store.row_check import edited_rows
from tests.houses.at_the_booth import CODES, NAME, PINS, START, Wall, open_evening

ROLE = "booth_of_tries"
SIGN_IN = "SELECT * FROM oakpanel_sign_in(%s, %s, %s, %s, %s)"
Row = tuple[object, ...]


@pytest.fixture
def house(postgres_store: Store) -> Store:
    open_evening(postgres_store)
    return postgres_store


@pytest.fixture
def url(house: Store) -> Iterator[str]:
    yield make_booth_role(house, ROLE, new_password=True).url
    with house.write() as db:
        db.execute(text(f"DROP OWNED BY {ROLE}"))
        db.execute(text(f"DROP ROLE {ROLE}"))


@pytest.fixture
def booths(url: str) -> Iterator[Store]:
    store = open_store(url)
    yield store
    store.close()


def sit(booths: Store, code: str = "A1", place: str | None = None) -> Seat:
    return booth.sign_in(booths, NAME, code, PINS[code], now=START, place=place)


def refused(booths: Store, code: str, pin: str = "2468") -> str:
    with pytest.raises((SignInRefused, SignInWaits)) as said:
        booth.sign_in(booths, NAME, code, pin, now=START)
    return str(said.value)


def count(house: Store, asked: str) -> object:
    with house.read() as db:
        return db.scalar(text(asked))


class Shell:
    """The booths' user typing SQL past the program."""

    def __init__(self, url: str) -> None:
        self.at = psycopg.connect(url)

    def salt(self, code: str) -> str:
        row = self.at.execute("SELECT oakpanel_salt(%s)", [code]).fetchone()
        assert row is not None
        return str(row[0])

    def ask(self, code: str, pin: str, token: str) -> Row:
        proof = proof_of(pin, self.salt(code))
        assert proof is not None
        seat = hashlib.sha256(token.encode()).hexdigest()
        given = [NAME, code, proof.hex(), seat, "shell"]
        row = self.at.execute(
            "SELECT * FROM oakpanel_sign_in(%s, %s, %s, %s, %s)", given
        ).fetchone()
        assert row is not None
        return row


@pytest.fixture
def shell(url: str) -> Iterator[Shell]:
    made = Shell(url)
    yield made
    made.at.close()


def test_a_try_is_told_only_once_it_is_committed(house: Store, shell: Shell) -> None:
    token = secrets.token_hex(16)
    assert shell.ask("A1", PINS["A1"], token)[0] == "asked"
    assert shell.ask("A1", PINS["A1"], token)[0] == "asked"
    shell.at.execute("SAVEPOINT here")
    assert shell.ask("A1", PINS["A1"], token)[0] == "asked"
    shell.at.rollback()
    assert count(house, "SELECT count(*) FROM sign_in_try") == 0
    assert shell.ask("A1", PINS["A1"], token)[0] == "asked"
    shell.at.commit()
    assert shell.ask("A1", PINS["A1"], token)[0] == "seated"


def test_undoing_the_answer_does_not_undo_the_count(house: Store, shell: Shell) -> None:
    for tries in range(1, 5):
        token = secrets.token_hex(16)
        assert shell.ask("A1", "2468", token)[0] == "asked"
        shell.at.commit()
        assert shell.ask("A1", "2468", token)[0] == "refused"
        shell.at.rollback()
        assert count(house, "SELECT failures FROM sign_in_guard") == tries


@pytest.mark.slow
def test_five_wrong_tries_wait_whoever_the_code_is_of(house: Store, booths: Store) -> None:
    said = {}
    for code in ("A1", "nobody"):
        told = [refused(booths, code) for _ in range(6)]
        assert all("do not go together" in each for each in told[:4])
        said[code] = told[4:]
    assert said["A1"] == said["nobody"]
    assert "5 tries in a row did not fit, so this code waits: 60 s to go" in said["A1"][1]
    assert "this code waits" in refused(booths, "A1", PINS["A1"])
    assert count(house, "SELECT wait_s FROM sign_in_guard") == 60
    with house.write() as db:
        db.execute(text("UPDATE sign_in_guard SET failed_at = failed_at - interval '61 seconds'"))
    sit(booths)
    assert count(house, "SELECT count(*) FROM sign_in_guard") == 0


def test_a_clock_that_ran_off_starts_the_wait_anew(house: Store, booths: Store) -> None:
    for _ in range(5):
        refused(booths, "A1")
    for moved in ("- interval '2 days'", "+ interval '2 days'"):
        with house.write() as db:
            db.execute(text(f"UPDATE sign_in_guard SET failed_at = failed_at {moved}"))
        assert "60 s to go" in refused(booths, "A1", PINS["A1"])


def test_the_salt_of_a_code_that_nobody_has_stays_and_looks_like_any(shell: Shell) -> None:
    made_up = [shell.salt(code) for code in ("X9", "x9", "Y1")]
    assert made_up[0] == made_up[1] != made_up[2]
    real = shell.salt("A1").split("$")
    for salt in made_up:
        parts = salt.split("$")
        assert (len(parts), parts[0], len(parts[-1])) == (len(real), real[0], len(real[-1]))
    assert shell.salt("a1") == shell.salt("A1")


def test_what_is_stored_signs_nobody_in(house: Store, shell: Shell) -> None:
    stored = str(count(house, "SELECT pin_hash FROM person WHERE code = 'A1'"))
    given = [NAME, "A1", stored.rpartition("$")[2], "1" * 64, None]
    for told in ("asked", "refused"):
        asked = shell.at.execute(SIGN_IN, given)
        row = asked.fetchone()
        assert row is not None
        assert row[0] == told
        shell.at.commit()


@pytest.mark.slow
def test_the_newest_sign_in_fences_the_booth_before_it(house: Store, booths: Store) -> None:
    first = sit(booths, place="left")
    second = sit(booths, place="right")
    said = r"A1 signed in at another booth \(right\) at"
    with pytest.raises(SeatTaken, match=said), booths.write() as db:
        booth.take_glass(db, first, CODES[0], START)
    with booths.write() as db:
        booth.take_glass(db, second, CODES[0], START)
    third = sit(booths, place="door")
    for fenced in (first, second):
        with pytest.raises(SeatTaken, match="This one no longer saves"), booths.read() as db:
            booth.tray(db, fenced)
    with booths.read() as db:
        assert booth.tray(db, third).glasses[0].taken_order == 1
    with house.read() as db:
        assert read_log(db.connection()).sound


def test_what_other_booths_ask_is_seen_without_tokens_and_pins(booths: Store, shell: Shell) -> None:
    """All booths are one user, who may read what its own connections asked last."""
    with booths.engine.connect() as waiting:
        token = "5ea7" * 8
        waiting.execute(SHOW, {"token": token})
        seen = shell.at.execute("SELECT query FROM pg_stat_activity WHERE usename = current_user")
        asked = [str(row[0]) for row in seen]
    assert any("set_config('oakpanel.seat'" in each for each in asked)
    assert not any(token in each for each in asked)


def test_without_a_tray_or_an_open_session_it_says_so(house: Store, booths: Store) -> None:
    seat = sit(booths)
    with house.write() as db:
        db.execute(text("INSERT INTO person (code) VALUES ('L9')"))
    with house.write() as db:
        set_pin(db, "L9", "8642", now=START, by="A1")
    with pytest.raises(SignInRefused, match=f"L9 has no tray in {NAME}"):
        booth.sign_in(booths, NAME, "L9", "8642", now=START)
    with house.write() as db:
        db.execute(text("UPDATE panel_session SET status = 'closed'"))
    with pytest.raises(WrongState, match="was closed"):
        sit(booths)
    with pytest.raises(WrongState, match="was closed"), booths.read() as db:
        booth.tray(db, seat)


@pytest.mark.slow
def test_no_pin_is_no_way_in(house: Store, booths: Store) -> None:
    with house.write() as db:
        db.execute(text("UPDATE person SET pin_hash = NULL WHERE code = 'A1'"))
        db.execute(text("UPDATE person SET pin_hash = 'scrypt-sha256$' WHERE code = 'A2'"))
    for code in ("A1", "A2"):
        assert "do not go together" in refused(booths, code, PINS[code])


@pytest.mark.slow
def test_a_whole_evening_is_kept_and_vouched_for(house: Store, booths: Store) -> None:
    wall = Wall()
    for code in PINS:
        seat = sit(booths, code)
        for glass in CODES:
            wall.pass_s(120)
            tray = perform(booths, seat, TakeUp(glass), wall())
            number = next(each.serving_id for each in tray.glasses if each.code == glass)
            values = {line.version_id: 40 for line in tray.lines}
            deeds: list[Job] = [
                *(KeepScores(number, values), KeepScores(number, {tray.lines[0].version_id: None})),
                *(MarkFault(number, "soapy", on=True), MarkFault(number, "soapy", on=False)),
                *(KeepNote(number, "like the quay"), CallLead("water", number), OwnMark(on=True)),
                *(PutDown(number), LookAgain()),
            ]
            for deed in deeds:
                tray = perform(booths, seat, deed, wall())
        assert all(each.finished_at is not None for each in tray.glasses)
    assert count(house, "SELECT count(*) FROM score") == 3 * 5 * 9
    assert count(house, "SELECT count(*) FROM session_assessor WHERE finished_at IS NULL") == 0
    # The evening itself is made past the program by the test, and so not vouched for.
    written = {"score", "score_change", "serving_note", "lead_call"}
    with house.read() as db:
        reading = read_log(db.connection())
        assert reading.sound
        assert edited_rows(db.connection(), reading, sorted(written)) == []


DAMAGE = {
    "a link that is none": "UPDATE log_head SET chain_hex = 'not one'",
    "no head": "DELETE FROM log_head",
    "no head, and a last entry that is none": (
        "UPDATE log_entry SET chain_hex = 'not one' WHERE id = (SELECT max(id) FROM log_entry); "
        "DELETE FROM log_head"
    ),
    "two heads": (
        "ALTER TABLE log_head DROP CONSTRAINT ck_log_head_id_alone; "
        "INSERT INTO log_head VALUES (2, 7, 'x')"
    ),
    "a count that is full": "UPDATE log_head SET entries = 2147483647",
    "an entry in the next place": (
        "INSERT INTO log_entry (id, written_at, digest_hex, chain_hex) "
        "SELECT last_value + 1, now(), '', 'x' FROM log_entry_id_seq"
    ),
}


@pytest.mark.slow
@pytest.mark.parametrize("damage", DAMAGE)
def test_a_bad_row_in_the_log_stops_no_booth_and_is_reported(
    house: Store, booths: Store, damage: str
) -> None:
    seat = sit(booths)
    with house.engine.begin() as connection:
        for statement in DAMAGE[damage].split(";"):
            connection.execute(text(statement))
    with booths.write() as db:
        booth.take_glass(db, seat, CODES[0], START)
    with house.read() as db:
        assert not read_log(db.connection()).sound


def test_a_lock_that_is_held_is_a_sentence(
    url: str, booths: Store, shell: Shell, monkeypatch: pytest.MonkeyPatch
) -> None:
    seat = sit(booths)
    monkeypatch.setattr(engine, "BUSY_TIMEOUT_MS", 50)
    shell.at.execute("SELECT pg_advisory_xact_lock(11319827632236)")
    hurried = open_store(url)
    with pytest.raises(DatabaseLocked, match="another program holds it"), hurried.write() as db:
        booth.take_glass(db, seat, CODES[0], START)
    hurried.close()
