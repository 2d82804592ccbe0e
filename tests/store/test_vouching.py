"""The log vouches for what the program writes, by whatever way it writes it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from sqlalchemy import Executable, delete, insert, select, text, update
from sqlalchemy.orm import Session

from panel.kinds import Role
from panel.records.erase import erase_person
from panel.store.casks import Make
from panel.store.engine import Store
from panel.store.findings import Finding, Level, Way
from panel.store.lexicon import Descriptor
from panel.store.log import UNTOLD, LogEntry, append_entry
from panel.store.log_check import read_log
from panel.store.log_findings import log_findings
from panel.store.people import Person, PersonRole
from panel.store.rows import form_of, plain_number, plain_value
from panel.store.sessions import Score, ScoreChange, Serving
from panel.store.tables import METADATA
from panel.store.touched import note_rows
from panel.store.vouching import bound_tables
from tests.houses.small import add_house
from tests.thinned import some

UNBOUND = {
    "log_entry": "its own chain holds it",
    "log_head": "it is compared with the chain",
    "booth_seat": "it changes with every sign-in, and a wrong one only sends a booth away",
    "booth_deed": "a number by which a deed is not done twice, gone with the reveal",
    "sign_in_try": "a PIN that was sent, gone once the answer was told",
    "sign_in_secret": "it makes up the salts of codes that nobody has",
    "sign_in_guard": "a count of wrong PINs, gone with the next right one",
}
"""Tables of whose rows the log says nothing, and why."""


@pytest.fixture(params=["store", "postgres_store"])
def house(request: pytest.FixtureRequest, fixed_now: datetime) -> Store:
    made: Store = request.getfixturevalue(request.param)
    with made.write() as db:
        add_house(db, fixed_now)
    return made


def faults(store: Store) -> list[Finding]:
    with store.read() as db:
        return [one for one in log_findings(db, store.url) if one.level is Level.FAULT]


def test_every_table_is_vouched_for_or_named() -> None:
    assert set(METADATA.tables) - set(bound_tables()) == set(UNBOUND)


def _added(db: Session) -> None:
    db.add(Make(name="spring", site="Sallow Weir", cereal="malted barley", phenol_ppm=0))


def _changed(db: Session) -> None:
    for score in db.scalars(select(Score)):
        score.value = 3  # a whole number where the table holds one with a point


def _changed_moment(db: Session) -> None:
    away = timezone(timedelta(hours=5))
    for score in db.scalars(select(Score)):
        score.given_at = datetime(2026, 3, 15, 1, 2, 3, 4, tzinfo=away)


def _taken_away(db: Session) -> None:
    db.delete(db.scalars(select(Score)).first())


def _added_and_taken_away(db: Session) -> None:
    person = Person(code="X1", roles=[PersonRole(role=Role.POURER)])
    db.add(person)
    db.flush()
    db.delete(person)


def _by_one_statement(db: Session) -> None:
    db.execute(update(Serving).where(Serving.flight == 1).values(flight=2))


def _by_statement_and_number(db: Session) -> None:
    numbers = list(db.scalars(select(Serving.id)))
    db.execute(update(Serving), [{"id": number, "flight": 3} for number in numbers])


def _all_taken_away(db: Session) -> None:
    db.execute(delete(Score).where(Score.value > 0))


def _many_at_once(db: Session) -> None:
    db.execute(insert(Descriptor), [{"name": f"note {n}"} for n in range(3)])


def _past_the_session(db: Session) -> None:
    db.connection().execute(insert(PersonRole), [{"person_id": 1, "role": Role.POURER}])
    note_rows(db, PersonRole.__table__, [(1, Role.POURER)])


def _read_anew(db: Session) -> None:
    score = db.scalars(select(Score)).first()
    assert score is not None
    score.value = 41
    db.flush()
    db.expire(score)


WAYS: tuple[Callable[[Session], None], ...] = (
    *(_added, _changed, _changed_moment, _added_and_taken_away, _by_one_statement),
    *(_by_statement_and_number, _many_at_once, _past_the_session, _read_anew),
    *(_taken_away, _all_taken_away),
)
"""In an order in which each finds what it changes."""


@pytest.mark.parametrize("told", some([True, False], 2), ids=["told", "untold"])
def test_whatever_the_program_writes_is_vouched_for(
    house: Store, told: bool, fixed_now: datetime
) -> None:
    assert faults(house) == []
    for way in WAYS:
        with house.write() as db:
            way(db)
            if told:
                append_entry(db, at=fixed_now, by="M1", action="deed", details={})
        assert faults(house) == [], way
        with house.read() as db:
            newest = db.scalars(select(LogEntry).order_by(LogEntry.id.desc())).first()
        assert newest is not None
        assert (UNTOLD in (newest.body_json or "")) is not told, way
        assert '"rows"' in (newest.kept_json or ""), way


@pytest.mark.parametrize("change", [delete(ScoreChange), update(ScoreChange).values(value=1)])
def test_history_is_never_changed_but_by_an_erasure(house: Store, change: Executable) -> None:
    with house.write() as db:
        db.execute(change)
    [fault] = faults(house)
    assert "The log tells twice of what is never changed (score_change" in fault.words


def test_what_was_given_up_is_not_told(house: Store) -> None:
    with house.read() as db:
        before = read_log(db.connection()).entries
    with house.write() as db:
        _added(db)
        db.flush()
        db.rollback()
    with house.read() as db:
        assert read_log(db.connection()).entries == before
    assert faults(house) == []


@pytest.mark.parametrize("keep_scores", [True, False])
def test_an_erasure_leaves_nothing_against_the_log(
    house: Store, keep_scores: bool, fixed_now: datetime
) -> None:
    with house.write() as db:
        code = db.scalars(select(Person.code).where(~Person.roles.any(role=Role.LEAD))).first()
        append_entry(db, at=fixed_now, by=str(code), action="deed", details={})
    with house.write() as db:
        gone = erase_person(db, str(code), keep_scores=keep_scores, now=fixed_now, by=None)
    assert gone.log_entries_cleared > 0
    assert faults(house) == []


def test_a_row_has_a_new_nonce_with_every_change(house: Store) -> None:
    asked = text("SELECT row_nonce FROM score ORDER BY serving_id, descriptor_version_id")
    with house.read() as db:
        before = list(db.scalars(asked))
    with house.write() as db:
        _changed(db)
    with house.read() as db:
        after = list(db.scalars(asked))
    assert all(len(nonce) == 32 for nonce in (*before, *after))
    assert not set(before) & set(after)


def test_the_log_keeps_no_score_and_no_word(house: Store) -> None:
    with house.read() as db:
        kept = " ".join(str(one) for one in db.scalars(select(LogEntry.kept_json)))
        codes = list(db.scalars(select(Person.code)))
    assert not any(f'"{code}"' in kept for code in codes)
    assert "value" not in kept


@pytest.mark.parametrize(
    ("value", "stored"),
    [
        (datetime(2026, 3, 14, 18, 0, tzinfo=UTC), "2026-03-14 18:00:00.000000"),
        (datetime(2026, 3, 14, 18, 0), "2026-03-14 18:00:00.000000"),
        (date(2026, 3, 14), "2026-03-14"),
        (True, 1),
        (Role.LEAD, "lead"),
        ("lead", "lead"),
        (7, 7),
        (7.5, 7.5),
    ],
)
def test_a_value_is_read_as_a_file_stores_it(value: object, stored: object) -> None:
    """SQLite's storage classes: moments and dates as text, a yes as 1 (sqlite.org/datatype3)."""
    assert plain_value(value) == stored


def test_numbers_are_those_of_the_column() -> None:
    assert (plain_number(3), plain_number(-0.0), plain_number("high")) == (3.0, 0.0, "high")
    assert str(plain_number(-0.0)) == "0.0"
    assert plain_number(float("nan")) is None


def test_a_digest_is_what_the_page_says() -> None:
    """SHA-256 over the canonical text, reckoned here by hand; half of its digits stand."""
    import hashlib

    table = METADATA.tables["fault_mark"]
    form = form_of(table)
    row = {"serving_id": 4, "fault": "soapy", "marked_at": None, "row_nonce": "ab"}
    said = '["fault_mark",{"fault":"soapy","row_nonce":"ab","serving_id":4}]'
    values = [row[column.name] for column in form.columns]
    assert form.digest(values) == hashlib.sha256(said.encode()).hexdigest()[:32]
    assert form.key_of(values) == "4,soapy"


@pytest.mark.slow
def test_every_finding_says_by_what_it_was_found(house: Store) -> None:
    with house.read() as db:
        ways = {one.about: one.way for one in log_findings(db, house.url, "0" * 12)}
    assert ways == {
        **dict.fromkeys(("tables", "log", "records"), Way.FILE),
        "head": Way.HEAD,
        "last seen": Way.SEEN,
    }
