"""What has changed since somebody last looked: one cheap query while nothing has.

Every write ends the log with an entry of its own, whatever wrote it and on whichever database: so
its newest entry tells whether there is anything to read again.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.kinds import SessionStatus
from panel.session.progress import CallLine, open_calls
from panel.store.log import LogEntry
from panel.store.sessions import LeadCall, PanelSession

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy.orm import Session

BOOTH_DEEDS = frozenset(
    {
        *("glass taken", "glass taken again", "glass finished", "whole glass kept"),
        *("scores kept", "note kept", "fault marked", "fault mark taken off"),
        *("lead called", "own mark changed", "booth signed in"),
        *("own word named", "own word renamed", "own word taken back"),
        "set answered",
    }
)
"""What booths write: it changes how far a session is, and no other record of the house."""
CALLING = (SessionStatus.OPEN, SessionStatus.CLOSED)


@dataclass(frozen=True)
class WaitingCall:
    """A call from a booth that nobody has answered, and in which session."""

    session: str
    call: CallLine


@dataclass(frozen=True)
class Looked:
    """What stood there: the newest entry of the log, and who waits for the lead.

    `changed` where there are entries since the last look; `records` where one of them is more than
    a booth's own deed, `others` where one of those is by somebody else than who looks.
    """

    number: int
    chain_hex: str
    calls: tuple[WaitingCall, ...]
    changed: bool = True
    records: bool = True
    others: bool = True


def look(db: Session, before: Looked | None = None, *, by: str | None = None) -> Looked:
    """Return what stands there now; *before* is what stood there at the last look."""
    newest = select(LogEntry.id, LogEntry.chain_hex).order_by(LogEntry.id.desc()).limit(1)
    number, chain_hex = db.execute(newest).one_or_none() or (0, "")
    if before is not None and (number, chain_hex) == (before.number, before.chain_hex):
        return Looked(number, chain_hex, before.calls, changed=False, records=False, others=False)
    deeds = [] if before is None else list(_deeds(db, before.number))
    lost = before is None or number <= before.number  # another log lies there: all may differ
    records = [who for what, who in deeds if what not in BOOTH_DEEDS]
    return Looked(
        number,
        chain_hex,
        waiting_calls(db),
        records=lost or bool(records),
        others=lost or any(who != by for who in records),
    )


def _deeds(db: Session, after: int) -> Iterator[tuple[str, str]]:
    """Give what was done since an entry, and by whom; what was erased counts as a record."""
    for body in db.scalars(select(LogEntry.body_json).where(LogEntry.id > after)):
        told = json.loads(body or "{}")
        yield str(told.get("action", "")), str(told.get("by", ""))


def waiting_calls(db: Session) -> tuple[WaitingCall, ...]:
    """Return the calls that wait for the lead in all sessions, the oldest first."""
    asked = (
        select(PanelSession)
        .where(
            PanelSession.status.in_(CALLING),
            PanelSession.id.in_(select(LeadCall.session_id).where(LeadCall.answered_at.is_(None))),
        )
        .order_by(PanelSession.id)
    )
    found = [
        WaitingCall(session.name, call)
        for session in db.scalars(asked)
        for call in open_calls(db, session)
    ]
    return tuple(sorted(found, key=lambda each: (each.call.called_at, each.call.id)))
