from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import SessionError, UnknownRecord, WrongState
from panel.kinds import CallReason, Manner, ServingStatus
from panel.session.calls import answer_call
from panel.session.late_marks import mark_after_reveal
from panel.session.marks import mark_glass
from panel.session.plan import plan_session
from panel.session.progress import session_progress
from panel.session.seal import key_hash, seal_session
from panel.session.showing import session_view
from panel.session.stages import close_session, open_session, reveal_session
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.sessions import (
    LeadCall,
    PanelSession,
    Score,
    Serving,
    ServingMark,
    SessionAssessor,
)
from tests.houses.to_plan import open_evening, plan

Marker = Callable[..., Serving]


@pytest.fixture
def evening(house: Store, fixed_now: datetime) -> Store:
    open_evening(house, plan(), fixed_now, scored=True)
    return house


def code_at(db: Session, assessor: str, position: int = 3) -> str:
    mine = select(Serving.code).where(Serving.person.has(code=assessor))
    return db.scalars(mine.where(Serving.position == position)).one()


def pourings(db: Session, assessor: str, code: str) -> list[Serving]:
    mine = select(Serving).where(Serving.person.has(code=assessor), Serving.code == code)
    return list(db.scalars(mine.order_by(Serving.pouring)))


def mark(
    db: Session, code: str, status: ServingStatus, now: datetime, note: str | None = None
) -> Serving:
    return mark_glass(db, "spring", "A1", code, status, now=now, by="L1", note=note)


@pytest.mark.parametrize("status", [ServingStatus.VOID, ServingStatus.SWAP_SUSPECTED])
def test_a_mark_keeps_scores_and_history(
    evening: Store, fixed_now: datetime, status: ServingStatus
) -> None:
    with evening.write() as db:
        code = code_at(db, "A1")
        glass = mark(db, code, status, fixed_now, note="knocked over")
        assert glass.status is status
        assert len(db.scalars(select(Score).where(Score.serving_id == glass.id)).all()) == 4
        mark(db, code, ServingStatus.KEPT, fixed_now)
        kept = db.scalars(select(ServingMark).order_by(ServingMark.id)).all()
        assert [(m.status, m.by_code, m.note) for m in kept] == [
            (status, "L1", "knocked over"),
            (ServingStatus.KEPT, "L1", None),
        ]
        assert glass.status is ServingStatus.KEPT


def test_a_glass_poured_again_takes_the_same_place_under_the_same_code(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.write() as db:
        code = code_at(db, "A1")
        db.scalars(select(SessionAssessor)).all()[0].finished_at = fixed_now
        poured = mark(db, code, ServingStatus.RE_POURED, fixed_now)
        first, second = pourings(db, "A1", code)
        assert second is poured
        assert (first.status, second.status) == (ServingStatus.RE_POURED, ServingStatus.KEPT)
        assert (first.flight, first.position) == (second.flight, second.position)
        assert (second.pouring, second.taken_at) == (2, None)
        assert len(db.scalars(select(Score).where(Score.serving_id == first.id)).all()) == 4
        assert db.scalars(select(SessionAssessor)).all()[0].finished_at is None
        session = db.scalars(select(PanelSession)).one()
        assert key_hash(db, session.id) == session.key_hash, "pouring again changes no key"


def test_a_glass_may_be_poured_a_third_time(evening: Store, fixed_now: datetime) -> None:
    with evening.write() as db:
        code = code_at(db, "A1")
        mark(db, code, ServingStatus.RE_POURED, fixed_now)
        mark(db, code, ServingStatus.RE_POURED, fixed_now)
        assert [glass.status.value for glass in pourings(db, "A1", code)] == [
            "re-poured",
            "re-poured",
            "kept",
        ]


def test_a_glass_poured_again_in_error_brings_the_first_one_back(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.write() as db:
        code = code_at(db, "A1")
        mark(db, code, ServingStatus.RE_POURED, fixed_now)
        standing = mark(db, code, ServingStatus.KEPT, fixed_now)
        first, second = pourings(db, "A1", code)
        assert standing is first
        assert (first.status, second.status) == (ServingStatus.KEPT, ServingStatus.VOID)
        third = mark(db, code, ServingStatus.RE_POURED, fixed_now)
        assert (third.pouring, first.status) == (3, ServingStatus.RE_POURED)
        assert mark(db, code, ServingStatus.VOID, fixed_now) is third


def test_a_new_glass_that_was_taken_stays(evening: Store, fixed_now: datetime) -> None:
    with evening.write() as db:
        code = code_at(db, "A1")
        mark(db, code, ServingStatus.RE_POURED, fixed_now).taken_at = fixed_now
        with pytest.raises(SessionError, match="is kept already"):
            mark(db, code, ServingStatus.KEPT, fixed_now)


def test_the_same_mark_twice_is_said(evening: Store, fixed_now: datetime) -> None:
    with evening.write() as db:
        code = code_at(db, "A1")
        with pytest.raises(SessionError, match="is kept already"):
            mark(db, code, ServingStatus.KEPT, fixed_now)


def test_a_glass_or_seat_that_is_not_there_is_named(evening: Store, fixed_now: datetime) -> None:
    with evening.write() as db:
        with pytest.raises(UnknownRecord, match="no glass '000' on the tray of A1"):
            mark(db, "000", ServingStatus.VOID, fixed_now)
        with pytest.raises(UnknownRecord, match="'A9' has no seat in session 'spring'"):
            mark_glass(db, "spring", "A9", "123", ServingStatus.VOID, now=fixed_now, by="L1")


def test_after_closing_a_glass_is_not_poured_and_after_the_reveal_not_marked(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.write() as db:
        code = code_at(db, "A1")
        close_session(db, "spring", now=fixed_now, by="L1")
        with pytest.raises(WrongState, match="reopen it"):
            mark(db, code, ServingStatus.RE_POURED, fixed_now)
        mark(db, code, ServingStatus.VOID, fixed_now)
        reveal_session(db, "spring", now=fixed_now, by="L1")
        with pytest.raises(WrongState, match="marking a glass needs"):
            mark(db, code, ServingStatus.KEPT, fixed_now)


def test_a_glass_more_to_taste_stays_below_the_cap(house: Store, fixed_now: datetime) -> None:
    tasting = plan(manner=Manner.TASTE, draws=("D1", "D2", "D3", "D4"), pour_ml=18.0)
    with house.write() as db:  # 7 glasses of 18 mL at 20 % vol: 19.9 g if all were swallowed, of 24
        plan_session(db, tasting, now=fixed_now, by="L1")
        seal_session(db, "spring", now=fixed_now, by="L1")
        code = code_at(db, "A1")
        mark(db, code, ServingStatus.RE_POURED, fixed_now)
        with pytest.raises(
            SessionError, match=r"No glass more for A1\. .* 25\.6 g of ethanol each, if all"
        ):
            mark(db, code, ServingStatus.RE_POURED, fixed_now)


def test_progress_tells_waiting_in_hand_done_and_marked(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        plan_session(db, plan(), now=fixed_now, by="L1")
        seal_session(db, "spring", now=fixed_now, by="L1")
        open_session(db, "spring", now=fixed_now, by="L1")
        for order, position in enumerate((0, 1, 2), start=1):
            glass = pourings(db, "A1", code_at(db, "A1", position))[0]
            glass.taken_order, glass.taken_at = order, fixed_now
            glass.finished_at = fixed_now if position < 2 else None
        mark(db, code_at(db, "A1", 4), ServingStatus.VOID, fixed_now)
    with house.read() as db:
        seat = session_progress(db, "spring").seats[0]
        states = [glass.state for glass in seat.glasses]
        assert states == ["done", "done", "in hand", "waiting", "void", *["waiting"] * 4]
        assert (seat.n_done, seat.n_to_score) == (2, 8)
        assert [glass.position for glass in seat.glasses] == list(range(9))
        assert seat.glasses[0].warm_up
        assert not seat.finished


def test_calls_wait_until_they_are_answered_once(evening: Store, fixed_now: datetime) -> None:
    with evening.write() as db:
        glass = pourings(db, "A1", code_at(db, "A1"))[0]
        call = LeadCall(
            session_id=glass.session_id,
            person_id=glass.person_id,
            serving_id=glass.id,
            reason=CallReason.SPILLED,
            called_at=fixed_now,
        )
        db.add(call)
        db.flush()
        (waiting,) = session_progress(db, "spring").calls
        assert (waiting.assessor, waiting.code, waiting.reason) == ("A1", glass.code, "spilled")
        answer_call(db, waiting.id, now=fixed_now, by="L1")
        assert session_progress(db, "spring").calls == ()
        with pytest.raises(SessionError, match="was answered"):
            answer_call(db, waiting.id, now=fixed_now, by="L1")
        with pytest.raises(UnknownRecord, match="no call number 99"):
            answer_call(db, 99, now=fixed_now, by="L1")


def test_a_glass_marked_after_the_reveal_stands_with_its_reason(
    evening: Store, fixed_now: datetime
) -> None:
    later = fixed_now + timedelta(hours=2)
    with evening.write() as db:
        code = code_at(db, "A1")
        close_session(db, "spring", now=fixed_now, by="L1")
        reveal_session(db, "spring", now=fixed_now, by="L1")

        def late(status: ServingStatus, reason: str = "the first glass was drunk") -> Serving:
            who = ("spring", "A1", code, status)
            return mark_after_reveal(db, *who, now=later, by="L1", reason=reason)

        with pytest.raises(SessionError, match="Say why"):
            late(ServingStatus.VOID, " ")
        with pytest.raises(SessionError, match="void or kept"):
            late(ServingStatus.RE_POURED)
        assert late(ServingStatus.VOID).status is ServingStatus.VOID
        with pytest.raises(SessionError, match="is void already"):
            late(ServingStatus.VOID)
        (told,) = session_view(db, "spring").late_marks
        assert (told.code, told.status, told.by) == (code, "void", "L1")
        assert "the first glass was drunk" in "\n".join(session_view(db, "spring").lines())
        entry = db.scalars(select(LogEntry).order_by(LogEntry.id.desc())).first()
        assert entry is not None
        told_there = entry.body_json or ""
        assert "glass marked after the reveal" in told_there
        assert "the first glass was drunk" in told_there


def test_before_the_reveal_a_late_mark_is_not_taken(evening: Store, fixed_now: datetime) -> None:
    with evening.write() as db:
        glass = ("spring", "A1", code_at(db, "A1"), ServingStatus.VOID)
        with pytest.raises(WrongState, match="Close it first"):
            mark_after_reveal(db, *glass, now=fixed_now, by="L1", reason="spilled")
