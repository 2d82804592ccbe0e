"""What is on record of a session itself: its day, its stage, how many sit and what is scored."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from panel.kinds import Manner, SessionKind, SessionStatus
from panel.session.reopened import AfterReopening, after_reopening
from panel.store.finding import find_session
from panel.store.site_packs import away_packs, pack_it_came_in, packs_of


@dataclass(frozen=True)
class SessionFacts:
    """A session as it stands, without glasses and scores. A loaded one came from a file."""

    name: str
    status: SessionStatus
    kind: SessionKind
    manner: Manner
    held_on: date | None
    n_assessors: int
    n_descriptors: int
    key_hash: str | None
    loaded: bool
    rehearsal: bool
    blind: bool
    came_to: str | None = None
    """The site it came to in a pack: its plan and its key are at home."""
    away_at: tuple[str, ...] = ()
    """Other sites that seats of it are away at."""
    carried: bool = False
    """Whether bottles of it go to another site or came from one."""
    after_reopening: AfterReopening | None = None
    """What was scored after it was closed and opened again, if it was."""

    @property
    def revealed(self) -> bool:
        """Whether it may be told what was in the glasses."""
        return self.status is SessionStatus.REVEALED


def session_facts(db: Session, name: str) -> SessionFacts:
    """Return what is on record of a session.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    session = find_session(db, name)
    pack = pack_it_came_in(db, session.id)
    return SessionFacts(
        name=session.name,
        status=session.status,
        kind=session.kind,
        manner=session.manner,
        held_on=session.held_on,
        n_assessors=len(session.assessors),
        n_descriptors=len(session.descriptors),
        key_hash=session.key_hash,
        loaded=session.loaded,
        rehearsal=session.rehearsal,
        blind=session.blind,
        after_reopening=after_reopening(db, name),
        carried=any(each.recalled_at is None for each in packs_of(db, session.id)),
        came_to=pack.site if pack else None,
        away_at=tuple(sorted({away.site for away in away_packs(db, session.id)})),
    )
