"""Calls from the booths, answered by the lead; a call about safety takes its draw away."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from panel.clock import TAKE_BACK
from panel.errors import SessionError, UnknownRecord
from panel.session.stopping import StoppedDraw, pairs, settle_calls
from panel.store.log import append_entry
from panel.store.people import Person
from panel.store.sessions import LeadCall, PanelSession


def answer_call(db: Session, call_id: int, *, now: datetime, by: str) -> tuple[StoppedDraw, ...]:
    """Note that the lead has seen to a call; return what calls about safety had stopped till now.

    Those glasses are void from here on.

    Raises
    ------
    UnknownRecord, SessionError
        There is no such call, or it was answered before.
    """
    call = db.get(LeadCall, call_id)
    if call is None:
        raise UnknownRecord(f"There is no call number {call_id}.")
    if call.answered_at is not None:
        raise SessionError(f"Call {call_id} was answered at {call.answered_at:%H:%M} UTC.")
    call.answered_at = now
    person = db.get_one(Person, call.person_id)
    details: dict[str, object] = {"call": call_id, "assessor": person.code}
    details["reason"] = call.reason.value
    held = db.get_one(PanelSession, call.session_id)
    if stopped := settle_calls(db, held, now=now, by=by):
        details["stopped"] = pairs(*stopped)
    append_entry(db, at=now, by=by, action="call answered", details=details)
    return stopped


def take_answer_back(db: Session, call_id: int, *, now: datetime, by: str) -> None:
    """Let a call wait again that was answered too soon.

    Raises
    ------
    UnknownRecord, SessionError
        There is no such call, it waits, or its answer is too long ago to be taken back.
    """
    call = db.get(LeadCall, call_id)
    if call is None:
        raise UnknownRecord(f"There is no call number {call_id}.")
    if call.answered_at is None:
        raise SessionError(f"Call {call_id} was not answered: it waits.")
    if now - call.answered_at > TAKE_BACK:
        raise SessionError(
            f"Call {call_id} was answered at {call.answered_at:%H:%M} UTC, more than ten minutes "
            "ago: see to it, or have them call again."
        )
    call.answered_at = None
    person = db.get_one(Person, call.person_id)
    details = {"call": call_id, "assessor": person.code, "reason": call.reason.value}
    append_entry(db, at=now, by=by, action="answer taken back", details=details)
