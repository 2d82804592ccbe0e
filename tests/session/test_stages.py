from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.bars import Bar, Marks
from panel.errors import KeyChanged, SessionError, UnknownRecord, WrongState
from panel.frames.bars import bars_by_filling
from panel.kinds import Fault, ServingStatus, SessionStatus
from panel.session.plan import plan_session
from panel.session.seal import key_hash, seal_session
from panel.session.stages import (
    close_session,
    open_session,
    reopen_session,
    reveal_session,
    revealed_key,
)
from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.log import UNTOLD, LogEntry
from panel.store.log_check import broken_link
from panel.store.marks_of_fault import marks_by_filling
from panel.store.people import Person
from panel.store.sessions import FaultMark, PanelSession, Serving
from tests.houses.to_plan import HELD_ON, furnish, plan, score_all
from tests.session.test_seal import TAMPERINGS, another_draw

Step = Callable[[Session], object]


def steps(now: datetime) -> dict[str, Step]:
    return {
        "seal": lambda db: seal_session(db, "spring", now=now, by="L1"),
        "open": lambda db: open_session(db, "spring", now=now, by="L1"),
        "close": lambda db: close_session(db, "spring", now=now, by="L1"),
        "reopen": lambda db: reopen_session(db, "spring", now=now, by="L1", reason="fire alarm"),
        "reveal": lambda db: reveal_session(db, "spring", now=now, by="L1"),
    }


def walk(house: Store, now: datetime, *names: str) -> None:
    with house.write() as db:
        plan_session(db, plan(), now=now, by="L1")
    for name in names:
        with house.write() as db:
            steps(now)[name](db)


def test_an_evening_from_end_to_end(house: Store, fixed_now: datetime) -> None:
    walk(house, fixed_now, "seal", "open")
    with house.write() as db:
        score_all(db, fixed_now)
    with house.write() as db:
        close_session(db, "spring", now=fixed_now + timedelta(hours=1), by="L1")
    with house.write() as db:
        revealed = reveal_session(db, "spring", now=fixed_now + timedelta(hours=2), by="L1")
    assert revealed.matches
    assert revealed.notes == ()
    assert [row.kind for row in revealed.rows].count("test") == 7
    d1 = next(row for row in revealed.rows if row.draw == "D1")
    assert (d1.filling, d1.cask) == ("4001/1", "4001")
    with house.read() as db:
        session = db.scalars(select(PanelSession)).one()
        assert session.status is SessionStatus.REVEALED
        assert session.blind
        assert (session.opened_at, session.closed_at) == (
            fixed_now,
            fixed_now + timedelta(hours=1),
        )
        assert broken_link(db) is None
        bodies = [entry.body_json or "" for entry in db.scalars(select(LogEntry))]
        ours = [body for body in bodies if UNTOLD not in body]  # the rest is the test's own doing
        assert len(ours) == 5
        again = revealed_key(db, "spring")
        assert (again.rows, again.seed_hex) == (revealed.rows, revealed.seed_hex)


ALLOWED = {
    (): "seal",
    ("seal",): "open",
    ("seal", "open"): "close",
    ("seal", "open", "close"): "reopen reveal",
    ("seal", "open", "close", "reopen"): "close",
    ("seal", "open", "close", "reveal"): "",
}


@pytest.mark.parametrize("done", ALLOWED, ids=lambda done: "-".join(done) or "draft")
def test_stages_go_one_way(house: Store, fixed_now: datetime, done: tuple[str, ...]) -> None:
    walk(house, fixed_now, *done)
    for name, step in steps(fixed_now).items():
        if name in ALLOWED[done].split():
            continue
        with house.write() as db:
            before = db.scalars(select(PanelSession.status)).one()
            with pytest.raises(WrongState, match="Session 'spring' is "):
                step(db)
            assert db.scalars(select(PanelSession.status)).one() is before


def test_a_wrong_stage_says_what_comes_first(house: Store, fixed_now: datetime) -> None:
    walk(house, fixed_now, "seal")
    with house.write() as db, pytest.raises(WrongState, match="Open it first"):
        close_session(db, "spring", now=fixed_now, by="L1")


def test_a_session_that_is_not_there_is_named_with_the_nearest(
    house: Store, fixed_now: datetime
) -> None:
    walk(house, fixed_now)
    with house.write() as db, pytest.raises(UnknownRecord, match="Nearest: spring"):
        open_session(db, "sprng", now=fixed_now, by="L1")


def test_reopening_wants_a_reason_and_keeps_it(house: Store, fixed_now: datetime) -> None:
    walk(house, fixed_now, "seal", "open", "close")
    with house.write() as db, pytest.raises(SessionError, match="Say why"):
        reopen_session(db, "spring", now=fixed_now, by="L1", reason="  ")
    with house.write() as db:
        reopen_session(db, "spring", now=fixed_now, by="L1", reason="fire alarm")
        assert db.scalars(select(PanelSession)).one().closed_at is None
        newest = db.scalars(select(LogEntry).order_by(LogEntry.id.desc())).first()
        assert newest is not None
        assert "fire alarm" in (newest.body_json or "")


def test_opening_keeps_the_planned_date_unless_corrected(house: Store, fixed_now: datetime) -> None:
    walk(house, fixed_now, "seal")
    with house.write() as db:
        open_session(db, "spring", now=fixed_now, by="L1", held_on=date(2026, 3, 14))
        assert db.scalars(select(PanelSession)).one().held_on == date(2026, 3, 14)


@pytest.mark.parametrize("tamper", TAMPERINGS)
def test_a_changed_key_is_not_revealed(
    house: Store, fixed_now: datetime, tamper: Callable[[Session], None]
) -> None:
    walk(house, fixed_now, "seal", "open", "close")
    with house.write() as db:
        tamper(db)
    with house.write() as db, pytest.raises(KeyChanged, match="put back what was changed"):
        reveal_session(db, "spring", now=fixed_now, by="L1")
    with house.read() as db:
        assert db.scalars(select(PanelSession.status)).one() is SessionStatus.CLOSED


def test_a_hash_written_beside_a_changed_key_does_not_make_it_the_sealed_one(
    house: Store, fixed_now: datetime
) -> None:
    """Whoever can exchange a key can write its hash too; the one in the log counts."""
    walk(house, fixed_now, "seal", "open", "close")
    with house.write() as db:
        session = db.scalars(select(PanelSession)).one()
        sealed = session.key_hash
        another_draw(db)
        db.flush()
        session.key_hash = key_hash(db, session.id)
    with house.write() as db, pytest.raises(KeyChanged) as caught:
        reveal_session(db, "spring", now=fixed_now, by="L1")
    assert f"{sealed} was written into the log" in str(caught.value)


@pytest.mark.parametrize(
    "edit",
    [
        "UPDATE log_entry SET kept_json = replace(kept_json, '{sealed}', '{now}')",
        "DELETE FROM log_entry WHERE kept_json LIKE '%\"sealed\"%'",
        "DELETE FROM log_entry WHERE id > (SELECT max(id) - 1 FROM log_entry)",
        "UPDATE log_entry SET kept_json = NULL",
    ],
)
def test_a_hash_written_into_the_log_is_not_the_sealed_one(
    house: Store, fixed_now: datetime, edit: str
) -> None:
    """A log that was changed from the sealing on decides nothing; it can only be insisted on."""
    walk(house, fixed_now, "seal", "open", "close")
    with house.write() as db:
        session = db.scalars(select(PanelSession)).one()
        sealed = session.key_hash
        another_draw(db)
        db.flush()
        session.key_hash = key_hash(db, session.id)
        now = session.key_hash
    with house.write() as db:
        db.connection().exec_driver_sql(edit.replace("{sealed}", str(sealed)).replace("{now}", now))
    with house.write() as db, pytest.raises(KeyChanged, match="no longer says under what hash"):
        reveal_session(db, "spring", now=fixed_now, by="L1")


def test_a_changed_key_can_be_insisted_on_and_costs_the_blindness(
    house: Store, fixed_now: datetime
) -> None:
    walk(house, fixed_now, "seal", "open", "close")
    with house.write() as db:
        another_draw(db)
    with house.write() as db:
        revealed = reveal_session(db, "spring", now=fixed_now, by="L1", insist=True)
        assert revealed.matches is False
        assert not db.scalars(select(PanelSession)).one().blind


def test_a_key_that_fitted_at_the_reveal_is_not_called_changed_later(
    house: Store, fixed_now: datetime
) -> None:
    walk(house, fixed_now, "seal", "open", "close", "reveal")
    with house.write() as db:
        for person in db.scalars(select(Person).where(Person.code == "A3")):
            person.code = "gone-1"
        assert revealed_key(db, "spring").matches, "a pseudonym changes no key"
        for glass in db.scalars(select(Serving).where(Serving.person.has(code="gone-1"))):
            db.delete(glass)
        db.flush()
        later = revealed_key(db, "spring")
        assert later.matches is False
        assert "The check at the reveal is the one that counts" in (later.check_words() or "")


def test_an_evening_on_a_server(postgres_store: Store, fixed_now: datetime) -> None:
    with postgres_store.write() as db:
        furnish(db)
    test_an_evening_from_end_to_end(postgres_store, fixed_now)


def glass_of(db: Session, draw: str, assessor: str, replicate: int = 1) -> Serving:
    keys = db.scalars(select(KeyRow)).all()
    code = next(k.code for k in keys if k.draw.label == draw and k.replicate == replicate)
    glasses = db.scalars(select(Serving).where(Serving.code == code))
    return next(glass for glass in glasses if glass.person.code == assessor)


def mark(db: Session, now: datetime, glass: Serving, fault: Fault = Fault.MOULD_OR_CORK) -> None:
    db.add(FaultMark(serving_id=glass.id, fault=fault, marked_at=now))
    db.flush()


def reveal_with(
    house: Store, now: datetime, marks: list[tuple[str, str]], *, void: bool = False
) -> tuple[tuple[str, ...], str | None]:
    walk(house, now, "seal", "open")
    with house.write() as db:
        for draw, assessor in marks:
            glass = glass_of(db, draw, assessor)
            mark(db, now, glass)
            if void:
                glass.status = ServingStatus.VOID
        close_session(db, "spring", now=now, by="L1")
        notes = reveal_session(db, "spring", now=now, by="L1").notes
        held = db.scalars(select(Filling).where(Filling.label == "4002/1")).one().hold_reason
    return notes, held


def test_one_fault_mark_asks_for_a_clean_re_draw(house: Store, fixed_now: datetime) -> None:
    notes, held = reveal_with(house, fixed_now, [("D2", "A1")])
    assert held is None
    assert "One assessor marked mould or cork on D2: take a clean re-draw" in notes[0]


def test_two_fault_marks_put_the_filling_on_hold(house: Store, fixed_now: datetime) -> None:
    notes, held = reveal_with(house, fixed_now, [("D2", "A1"), ("D2", "A4")])
    assert held == "mould or cork, marked in session spring"
    assert "4002/1 is on hold" in notes[0]


def test_marks_bar_the_filling_from_the_reveal_until_the_hold_is_lifted(
    house: Store, fixed_now: datetime
) -> None:
    walk(house, fixed_now, "seal", "open")
    with house.write() as db:
        mark(db, fixed_now, glass_of(db, "D2", "A1"))
        mark(db, fixed_now, glass_of(db, "D2", "A4"), Fault.SOAPY)
        mark(db, fixed_now, glass_of(db, "D3", "A1"))
        close_session(db, "spring", now=fixed_now, by="L1")
        assert marks_by_filling(db, HELD_ON) == {}, "nothing is told of a key before the reveal"
        reveal_session(db, "spring", now=fixed_now, by="L1")
        assert marks_by_filling(db, date(2026, 3, 19)) == {}
    with house.write() as db:
        known = bars_by_filling(db, HELD_ON)
        assert {each.bar for each in known["4002/1"][1]} == {Bar.HOLD, Bar.FAULT}
        fault = next(each for each in known["4002/1"][1] if each.bar is Bar.FAULT)
        assert fault.facts.marks == (Marks(("mould or cork", "soapy"), 2, "spring"),)
        assert known["4003/1"][1] == ()
        db.scalars(select(Filling).where(Filling.label == "4002/1")).one().hold_reason = None
    with house.read() as db:
        assert bars_by_filling(db, HELD_ON)["4002/1"][1] == ()


def test_marks_on_two_casks_are_not_added_up(house: Store, fixed_now: datetime) -> None:
    notes, held = reveal_with(house, fixed_now, [("D2", "A1"), ("D3", "A4")])
    assert held is None
    assert len(notes) == 2


def test_marks_on_void_glasses_tell_nothing_of_a_cask(house: Store, fixed_now: datetime) -> None:
    assert reveal_with(house, fixed_now, [("D2", "A1"), ("D2", "A4")], void=True) == ((), None)


def test_a_reference_with_marks_has_no_cask_to_hold(house: Store, fixed_now: datetime) -> None:
    notes, _ = reveal_with(house, fixed_now, [("R0", "A1"), ("R0", "A4")])
    assert "do not serve it again" in notes[0]


def test_one_assessor_who_marks_glass_and_duplicate_is_one(
    house: Store, fixed_now: datetime
) -> None:
    with house.write() as db:
        plan_session(db, plan(duplicates=("D2",)), now=fixed_now, by="L1")
        seal_session(db, "spring", now=fixed_now, by="L1")
        open_session(db, "spring", now=fixed_now, by="L1")
        for replicate in (1, 2):
            mark(db, fixed_now, glass_of(db, "D2", "A1", replicate))
        close_session(db, "spring", now=fixed_now, by="L1")
        notes = reveal_session(db, "spring", now=fixed_now, by="L1").notes
    assert len(notes) == 1
    assert notes[0].startswith("One assessor")


def test_an_earlier_hold_keeps_its_reason(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        db.scalars(select(Filling).where(Filling.label == "4002/1")).one().hold_reason = "leak"
    notes, held = reveal_with(house, fixed_now, [("D2", "A1"), ("D2", "A4")])
    assert held == "leak"
    assert "on hold already (leak)" in notes[0]


def test_no_hold_before_the_reveal(house: Store, fixed_now: datetime) -> None:
    walk(house, fixed_now, "seal", "open")
    with house.write() as db:
        for assessor in ("A1", "A2", "A3"):
            mark(db, fixed_now, glass_of(db, "D2", assessor))
        close_session(db, "spring", now=fixed_now, by="L1")
        assert not [f for f in db.scalars(select(Filling)) if f.hold_reason]
