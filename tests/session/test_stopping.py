"""A draw that is not safe goes from every tray at once, whatever code it stands under."""

from __future__ import annotations

import json
from datetime import datetime
from typing import TypedDict

import pytest
from sqlalchemy import select

from panel.errors import SessionError, UnknownRecord, WrongGlass, WrongState
from panel.kinds import CallReason, GlassState, ServingStatus
from panel.session.calls import answer_call
from panel.session.marks import mark_glass
from panel.session.marks_back import take_mark_back
from panel.session.progress import session_progress
from panel.session.stages import close_session, reveal_session
from panel.session.stopping import StoppedDraw, lift_stop, stop_draw
from panel.store import booth_queries as booth
from panel.store.engine import Session, Store
from panel.store.key import KeyRow
from panel.store.log import LogEntry
from panel.store.sessions import Score, Serving
from panel.store.stops import DrawStop
from tests.conftest import FIXED_NOW
from tests.houses.to_plan import CODES, open_evening, plan, score_all


class Lifting(TypedDict):
    now: datetime
    by: str
    reason: str


LIFTING: Lifting = {"now": FIXED_NOW, "by": "L1", "reason": "the glass was chipped, not the draw"}


@pytest.fixture(params=[False, True], ids=["shared codes", "codes of each tray"])
def evening(request: pytest.FixtureRequest, house: Store, fixed_now: datetime) -> Store:
    own = {"codes_per_assessor": request.param}
    open_evening(house, plan(duplicates=("D1",), **own), fixed_now)
    return house


def codes_of(db: Session, label: str, assessor: str) -> list[str]:
    """Return under which codes a draw stands on a tray."""
    rows = db.scalars(select(KeyRow).where(KeyRow.draw.has(label=label)))
    return sorted(row.code for row in rows if row.tray in ("", assessor))


def stop(db: Session, code: str, now: datetime, who: str = "A1") -> StoppedDraw:
    return stop_draw(db, "spring", who, code, now=now, by="L1")


def test_its_duplicate_and_everybodys_glasses_are_void_and_no_other(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.write() as db:
        score_all(db, fixed_now)
        wanted = {(who, code) for who in CODES for code in codes_of(db, "D1", who)}
        stopped = stop(db, codes_of(db, "D1", "A1")[0], fixed_now)
    assert len(wanted) == 2 * len(CODES)
    assert {(glass.assessor, glass.code) for glass in stopped.glasses} == wanted
    with evening.read() as db:
        void = [each for each in db.scalars(select(Serving)) if each.status is ServingStatus.VOID]
        assert {(each.person.code, each.code) for each in void} == wanted
        scored = select(Score).where(Score.serving_id.in_([each.id for each in void]))
        assert list(db.scalars(scored))
        bodies = db.scalars(select(LogEntry.body_json).order_by(LogEntry.id)).all()
    last = json.loads(bodies[-1] or "{}")
    assert last["action"] == "draw stopped as not safe"
    assert len(last["glasses"]) == len(wanted)
    assert "D1" not in json.dumps(last) + stopped.sentence()
    assert f"stopped on {len(CODES)} trays" in stopped.sentence()


def test_whoever_has_it_in_hand_can_score_it_no_more(evening: Store, fixed_now: datetime) -> None:
    with evening.write() as db:
        seat = booth.take_seat(db, "spring", "A2", now=fixed_now)
        code = codes_of(db, "D2", "A2")[0]
        glass = booth.take_glass(db, seat, code, fixed_now)
        line = booth.tray(db, seat).lines[0].version_id
        booth.save_score(db, seat, glass, line, 40, fixed_now)
    with evening.write() as db:
        stop(db, codes_of(db, "D2", "A1")[0], fixed_now)
    with evening.write() as db, pytest.raises(WrongGlass, match=f"{code} is stopped"):
        booth.save_score(db, seat, glass, line, 41, fixed_now)
    with evening.write() as db, pytest.raises(WrongGlass):
        booth.take_glass(db, seat, code, fixed_now)


def test_what_was_void_or_poured_again_before_stays_as_it_was(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.write() as db:
        first, second = codes_of(db, "D1", "A1")
        for code, mark in ((first, ServingStatus.VOID), (second, ServingStatus.RE_POURED)):
            mark_glass(db, "spring", "A1", code, mark, now=fixed_now, by="L1")
        stopped = stop(db, codes_of(db, "D1", "A2")[0], fixed_now, "A2")
        assert [glass.code for glass in stopped.glasses if glass.assessor == "A1"] == [second]
        poured = select(Serving).where(Serving.person.has(code="A1"), Serving.code == second)
        marks = [each.status for each in db.scalars(poured.order_by(Serving.pouring))]
        assert marks == [ServingStatus.RE_POURED, ServingStatus.VOID]
        with pytest.raises(SessionError, match="void already"):
            stop(db, second, fixed_now)


def test_only_a_lead_lifts_it_with_a_reason_and_all_come_back_as_they_were(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.write() as db:
        first, second = codes_of(db, "D1", "A1")
        doubt = ServingStatus.SWAP_SUSPECTED
        mark_glass(db, "spring", "A1", second, doubt, now=fixed_now, by="L1")
        before = standing_of(db)
        stop(db, first, fixed_now)
    with evening.write() as db:
        with pytest.raises(SessionError, match="safe again"):
            take_mark_back(db, "spring", "A1", first, now=fixed_now, by="L1")
        with pytest.raises(SessionError, match="safe again"):
            mark_glass(db, "spring", "A1", first, ServingStatus.KEPT, now=fixed_now, by="L1")
        with pytest.raises(SessionError, match="Say why"):
            lift_stop(db, "spring", "A1", first, now=fixed_now, by="L1", reason=" ")
    with evening.write() as db:
        lifted = lift_stop(db, "spring", "A2", codes_of(db, "D1", "A2")[1], **LIFTING)
        assert len(lifted.glasses) == 2 * len(CODES)
        assert standing_of(db) == before
        assert lifted_words(db) == ["the glass was chipped, not the draw"]
        with pytest.raises(SessionError, match="is not stopped"):
            lift_stop(db, "spring", "A1", first, **LIFTING)


def standing_of(db: Session) -> dict[tuple[str, str], ServingStatus]:
    return {(each.person.code, each.code): each.status for each in db.scalars(select(Serving))}


def lifted_words(db: Session) -> list[str | None]:
    return list(db.scalars(select(DrawStop.lifted_because)))


def test_a_call_from_a_booth_stops_every_seat_from_the_moment_it_is_kept(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.write() as db:
        seats = {who: booth.take_seat(db, "spring", who, now=fixed_now) for who in ("A1", "A2")}
        codes = {who: codes_of(db, "D1", who) for who in seats}
        glass = booth.take_glass(db, seats["A1"], codes["A1"][0], fixed_now)
        other = booth.take_glass(db, seats["A2"], codes["A2"][1], fixed_now)
        line = booth.tray(db, seats["A2"]).lines[0].version_id
    with evening.write() as db:
        booth.call_lead(db, seats["A1"], CallReason.NOT_SAFE, fixed_now, glass)
    with evening.read() as db:
        for who, seat in seats.items():
            gone = {each.code for each in booth.tray(db, seat).glasses if each.stopped}
            assert gone == set(codes[who])
        state = {
            (seat.assessor, each.code)
            for seat in session_progress(db, "spring").seats
            for each in seat.glasses
            if each.state is GlassState.VOID
        }
        assert state == {(who, code) for who in CODES for code in codes_of(db, "D1", who)}
    with evening.write() as db, pytest.raises(WrongGlass, match=r"may not be safe"):
        booth.save_score(db, seats["A2"], other, line, 40, fixed_now)
    with evening.write() as db, pytest.raises(WrongGlass, match=r"may not be safe"):
        booth.take_glass(db, seats["A2"], codes["A2"][0], fixed_now)


def test_no_other_call_stops_anything_nor_one_about_no_glass(
    evening: Store, fixed_now: datetime
) -> None:
    with evening.write() as db:
        seat = booth.take_seat(db, "spring", "A1", now=fixed_now)
        glass = booth.take_glass(db, seat, codes_of(db, "D2", "A1")[0], fixed_now)
        for reason in CallReason:
            named = None if reason is CallReason.NOT_SAFE else glass
            booth.call_lead(db, seat, reason, fixed_now, named)
        assert not any(each.withdrawn for each in booth.tray(db, seat).glasses)


@pytest.mark.parametrize("seen_to", [True, False])
def test_what_was_called_is_void_once_the_lead_has_seen_to_it_or_the_session_is_closed(
    evening: Store, fixed_now: datetime, seen_to: bool
) -> None:
    with evening.write() as db:
        seat = booth.take_seat(db, "spring", "A1", now=fixed_now)
        glass = booth.take_glass(db, seat, codes_of(db, "D1", "A1")[0], fixed_now)
        call = booth.call_lead(db, seat, CallReason.NOT_SAFE, fixed_now, glass)
        wanted = {(who, code) for who in CODES for code in codes_of(db, "D1", who)}
    with evening.write() as db:
        if seen_to:
            answer_call(db, call, now=fixed_now, by="L1")
        else:
            close_session(db, "spring", now=fixed_now, by="L1")
    with evening.write() as db:
        void = {each for each, status in standing_of(db).items() if status is ServingStatus.VOID}
        assert void == wanted
        [kept] = db.scalars(select(DrawStop))
        assert (kept.by_code, kept.call_id, kept.lifted_at) == ("A1", call, None)
        last = db.scalars(select(LogEntry.body_json).order_by(LogEntry.id.desc())).first()
        assert {(who, code) for who, code in json.loads(last or "{}")["stopped"]} == wanted
        lift_stop(db, "spring", "A1", codes_of(db, "D1", "A1")[1], **LIFTING)
        assert ServingStatus.VOID not in standing_of(db).values()


def test_there_is_nothing_to_stop_where_nobody_noses(evening: Store, fixed_now: datetime) -> None:
    with evening.write() as db:
        code = codes_of(db, "D3", "A1")[0]
        with pytest.raises(UnknownRecord, match="000"):
            stop(db, "000", fixed_now)
        score_all(db, fixed_now)
        close_session(db, "spring", now=fixed_now, by="L1")
        reveal_session(db, "spring", now=fixed_now, by="L1")
        with pytest.raises(WrongState, match="Once it is revealed"):
            stop(db, code, fixed_now)
