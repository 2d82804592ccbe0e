"""What a booth saves. Nothing here can reach the key, a draw or a cask.

Every function takes a database session, checks in the same transaction that this booth still holds
the assessor's seat and that the session is open, writes one log entry and leaves the commit to the
caller. Scores go through one function, `_write_scores`, whoever gives them.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import func
from sqlalchemy.orm import Session

from panel.errors import BoothError, WrongGlass
from panel.figures import in_digits
from panel.kinds import CallReason, Fault, ServingStatus
from panel.store.answers import ONLY_QUESTION
from panel.store.booth_lines import scale_ends, tables_of
from panel.store.booth_reading import chair_of, kept_tray, servings_of, tray
from panel.store.booth_seat import (
    booth_session,
    checked_session,
    leave_seat,
    open_sessions,
    sign_in,
    take_seat,
)
from panel.store.booth_tray import Seat, stopped_words
from panel.store.booth_words import name_word, rename_word, take_word_back
from panel.store.line_tables import Tables
from panel.store.log import append_entry
from panel.store.sessions import (
    FaultMark,
    LeadCall,
    PanelSession,
    Serving,
    ServingNote,
)
from panel.store.stopped import stopped_among
from panel.store.word_text import LONGEST_NOTE, plain_note

__all__ = [
    "answer_set",
    "booth_session",
    "call_lead",
    "finish_glass",
    "go_back_to",
    "kept_tray",
    "leave_seat",
    "mark_fault",
    "name_word",
    "not_at_best",
    "open_sessions",
    "rename_word",
    "save_glass",
    "save_note",
    "save_rest_zero",
    "save_score",
    "save_scores",
    "sign_in",
    "take_glass",
    "take_seat",
    "take_word_back",
    "tray",
]

OUT = (ServingStatus.VOID, ServingStatus.RE_POURED)


def take_glass(db: Session, seat: Seat, code: str, now: datetime) -> int:
    """Take up the glass under *code*; the order in which glasses are really taken is recorded.

    Raises
    ------
    WrongGlass
        No glass of this tray has the code, or the lead took it out.
    """
    session = checked_session(db, seat)
    serving, is_new = _take(db, seat, code, now)
    if is_new:
        _log(db, seat, session, serving, now, "glass taken", order=serving.taken_order)
    return serving.id


def _take(db: Session, seat: Seat, code: str, now: datetime) -> tuple[Serving, bool]:
    asked = servings_of(seat).where(Serving.code == code, Serving.status.not_in(OUT))
    serving = db.scalar(asked.order_by(Serving.pouring.desc()).limit(1))
    if serving is None:
        raise WrongGlass(f"{code} is not on your tray. Look at the glass again.")
    _refuse_stopped(db, serving)
    if serving.taken_at is not None:
        return serving, False
    highest = servings_of(seat).with_only_columns(func.max(Serving.taken_order))
    serving.taken_order = (db.scalar(highest) or 0) + 1
    serving.taken_at = now
    chair_of(db, seat).finished_at = None
    return serving, True


def save_score(
    db: Session,
    seat: Seat,
    serving_id: int,
    line: int,
    value: float | None,
    now: datetime,
) -> None:
    """Save one line of a glass; None makes it blank again. Raises as `save_scores`."""
    save_scores(db, seat, serving_id, {line: value}, now)


def save_rest_zero(db: Session, seat: Seat, serving_id: int, now: datetime) -> tuple[int, ...]:
    """Set "not perceived" on every line of the glass that is blank; return which they were."""
    session = checked_session(db, seat)
    if session.kind.facts.traced:
        raise BoothError("A second that was not answered stays so: it cannot be told afterwards.")
    given = {line for _, line, _ in tables_of(session).given(db, [serving_id])}
    ends = scale_ends(db, seat, session)
    rest = {line: low for line, (low, _) in ends.items() if line not in given}
    save_scores(db, seat, serving_id, rest, now)
    return tuple(rest)


def save_scores(
    db: Session, seat: Seat, serving_id: int, values: Mapping[int, float | None], now: datetime
) -> None:
    """Save lines of one glass (None: blank again); every change is kept, the last one counts.

    Raises
    ------
    SeatTaken, WrongState
        Another booth of this assessor, or the session is not open.
    WrongGlass
        The lead took the glass out, or it was put down.
    BoothError
        A value outside the scale, or a line that is not on this assessor's sheet.
    """
    session = checked_session(db, seat)
    serving = _glass_at_hand(db, seat, serving_id)
    _write_scores(db, seat, session, serving, values, now)
    if values:
        _log(db, seat, session, serving, now, "scores kept", lines=sorted(values))


def _write_scores(
    db: Session,
    seat: Seat,
    session: PanelSession,
    serving: Serving,
    values: Mapping[int, float | None],
    now: datetime,
) -> None:
    ends, tables = scale_ends(db, seat, session), tables_of(session)
    for line, value in values.items():
        _check_value(ends, line, value)
    for line in sorted(values):
        _write_line(db, tables, seat, serving.id, line, values[line], now)


def _check_value(ends: Mapping[int, tuple[float, float]], line: int, value: float | None) -> None:
    if line not in ends:
        raise BoothError("That line is not on the sheet of this session.")
    low, high = ends[line]
    if value is not None and not low <= value <= high:
        raise BoothError(
            f"A score lies between {in_digits(low, 'g')} and "
            f"{in_digits(high, 'g')}; {in_digits(value, 'g')} does not."
        )


def _write_line(
    db: Session,
    tables: Tables,
    seat: Seat,
    serving_id: int,
    line: int,
    value: float | None,
    now: datetime,
) -> None:
    kept = tables.kept(db, serving_id, line)
    # Added after the look at what is kept: both then go to the database in one turn.
    db.add(tables.new_change(serving_id, line, value=value, changed_at=now, by_code=seat.code))
    if value is not None:
        score = kept or tables.new_score(serving_id, line)
        score.value, score.given_at = value, now
        db.add(score)
    elif kept is not None:
        db.delete(kept)
    db.flush()


def mark_fault(
    db: Session, seat: Seat, serving_id: int, fault: Fault, now: datetime, *, on: bool = True
) -> None:
    """Mark a fault on a glass, or take the mark off."""
    session = checked_session(db, seat)
    serving = _glass_at_hand(db, seat, serving_id)
    mark = db.get(FaultMark, (serving_id, fault))
    if on and mark is None:
        db.add(FaultMark(serving_id=serving_id, fault=fault, marked_at=now))
    elif not on and mark is not None:
        db.delete(mark)
    action = "fault marked" if on else "fault mark taken off"
    _log(db, seat, session, serving, now, action, fault=fault.value)


def save_note(db: Session, seat: Seat, serving_id: int, text: str, now: datetime) -> None:
    """Keep a note on a glass; an empty one takes it away."""
    session = checked_session(db, seat)
    serving = _glass_at_hand(db, seat, serving_id)
    text = plain_note(text)
    if len(text) > LONGEST_NOTE:
        raise BoothError(f"A note has at most {LONGEST_NOTE} characters; this has {len(text)}.")
    note = db.get(ServingNote, serving_id)
    if text:
        note = note or ServingNote(serving_id=serving_id)
        note.text, note.written_at = text, now
        db.add(note)
    elif note is not None:
        db.delete(note)
    _log(db, seat, session, serving, now, "note kept")


def call_lead(
    db: Session, seat: Seat, reason: CallReason, now: datetime, serving_id: int | None = None
) -> int:
    """Call the lead to this booth; return the call's number."""
    session = checked_session(db, seat)
    if serving_id is not None:
        _own_glass(db, seat, serving_id)
    call = LeadCall(
        session_id=seat.session_id,
        person_id=seat.person_id,
        serving_id=serving_id,
        reason=reason,
        called_at=now,
    )
    db.add(call)
    db.flush()
    details = {"session": session.name, "call": call.id, "reason": reason.value}
    append_entry(db, at=now, by=seat.code, action="lead called", details=details)
    return call.id


def not_at_best(db: Session, seat: Seat, now: datetime, *, on: bool = True) -> None:
    """Mark that this is not the assessor's best nose today, without a cause; or unmark it."""
    session = checked_session(db, seat)
    chair_of(db, seat).not_at_best = on
    # The entry does not say which: the log would outlive the wish to have the mark taken off.
    details = {"session": session.name}
    append_entry(db, at=now, by=seat.code, action="own mark changed", details=details)


def finish_glass(db: Session, seat: Seat, serving_id: int, now: datetime) -> None:
    """Put a glass down: it is finished, and the pause begins."""
    session = checked_session(db, seat)
    serving = _glass_at_hand(db, seat, serving_id)
    _finish(db, seat, serving, now)
    _log(db, seat, session, serving, now, "glass finished")


def _finish(db: Session, seat: Seat, serving: Serving, now: datetime) -> None:
    serving.finished_at = now
    db.flush()
    open_still = servings_of(seat).where(Serving.status.not_in(OUT), Serving.finished_at.is_(None))
    left = list(db.scalars(open_still.with_only_columns(Serving.id)))
    if not set(left) - stopped_among(db, left):
        chair_of(db, seat).finished_at = now


def go_back_to(db: Session, seat: Seat, serving_id: int, now: datetime) -> None:
    """Take a finished glass up again, where the session allows it."""
    session = checked_session(db, seat)
    serving = _own_glass(db, seat, serving_id)
    if not session.may_go_back:
        raise WrongGlass(f"{session.name} does not go back to a finished glass.")
    serving.finished_at = None
    chair_of(db, seat).finished_at = None
    _log(db, seat, session, serving, now, "glass taken again")


def save_glass(
    db: Session,
    seat: Seat,
    code: str,
    values: Mapping[int, float | None],
    *,
    taken_at: datetime,
    finished_at: datetime,
) -> int:
    """Take a glass, save its scores by line and put it down, in one transaction.

    For glasses whose scores are there at once; the pause is the caller's business.
    """
    session = checked_session(db, seat)
    serving, _ = _take(db, seat, code, taken_at)
    _write_scores(db, seat, session, serving, values, finished_at)
    _finish(db, seat, serving, finished_at)
    facts = {"order": serving.taken_order, "lines": sorted(values)}
    _log(db, seat, session, serving, finished_at, "whole glass kept", **facts)
    return serving.id


def answer_set(
    db: Session, seat: Seat, flight: int, places: Mapping[int, int], now: datetime
) -> None:
    """Keep the answer to a set, a place for each of its glasses, and put all of them down.

    Without places the set is left unanswered.

    Raises
    ------
    SeatTaken, WrongState
        Another booth of this assessor, or the session is not open.
    WrongGlass
        A glass is not of that set, or the lead took it out.
    """
    session = checked_session(db, seat)
    of_set = servings_of(seat).where(Serving.flight == flight, Serving.status.not_in(OUT))
    glasses = {glass.id: glass for glass in db.scalars(of_set.order_by(Serving.position))}
    if not set(places) <= set(glasses):
        raise WrongGlass("The glasses of this set have changed. Look at it again.")
    tables = tables_of(session)
    for serving in glasses.values():
        _take(db, seat, serving.code, now)
        if serving.id in places:
            place = float(places[serving.id])
            _write_line(db, tables, seat, serving.id, ONLY_QUESTION, place, now)
    for serving in glasses.values():
        _finish(db, seat, serving, now)
    codes = [serving.code for serving in glasses.values()]
    details = {"session": session.name, "set": flight, "glasses": codes, "answered": bool(places)}
    append_entry(db, at=now, by=seat.code, action="set answered", details=details)


def _own_glass(db: Session, seat: Seat, serving_id: int) -> Serving:
    serving = db.get(Serving, serving_id, populate_existing=True)
    if serving is None or (serving.session_id, serving.person_id) != (
        seat.session_id,
        seat.person_id,
    ):
        raise WrongGlass("That glass is not on your tray. Type the code of the glass in hand.")
    _refuse_stopped(db, serving)
    if serving.status is ServingStatus.VOID:
        raise WrongGlass(f"The lead took {serving.code} out. Leave it and take another glass.")
    if serving.status is ServingStatus.RE_POURED:
        raise WrongGlass(f"The lead had {serving.code} poured again. Take the new glass.")
    return serving


def _refuse_stopped(db: Session, serving: Serving) -> None:
    if stopped_among(db, [serving.id]):
        raise WrongGlass(stopped_words(serving.code))


def _glass_at_hand(db: Session, seat: Seat, serving_id: int) -> Serving:
    serving = _own_glass(db, seat, serving_id)
    if serving.taken_at is None or serving.finished_at is not None:
        raise WrongGlass(f"{serving.code} is not in your hand now. Type its code to take it up.")
    return serving


def _log(
    db: Session,
    seat: Seat,
    session: PanelSession,
    serving: Serving,
    now: datetime,
    action: str,
    **facts: object,
) -> None:
    details = {"session": session.name, "glass": serving.code, "pouring": serving.pouring, **facts}
    append_entry(db, at=now, by=seat.code, action=action, details=details)
