"""Marks of fault that assessors set on glasses, by the filling that was in them."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from panel.kinds import ServingStatus, SessionStatus
from panel.store.draws import Draw
from panel.store.key import KeyRow, behind_serving
from panel.store.people import Person
from panel.store.sessions import FaultMark, PanelSession, Serving

MARKS_FOR_HOLD = 2
DOUBTFUL = (ServingStatus.VOID, ServingStatus.SWAP_SUSPECTED)
"""Glasses of which nobody can say what was in them: their marks tell nothing of a cask."""


@dataclass(frozen=True)
class FaultsMarked:
    """What several assessors marked on the glasses of one filling in one session."""

    session: str
    faults: tuple[str, ...]
    n_assessors: int


def on_marked_glasses(query: Any) -> Any:
    """Join draws, sessions and people to their marks of fault; doubtful glasses are left out."""
    return (
        query.select_from(FaultMark)
        .join(Serving, Serving.id == FaultMark.serving_id)
        .join(Person, Person.id == Serving.person_id)
        .join(PanelSession, PanelSession.id == Serving.session_id)
        .join(KeyRow, behind_serving())
        .join(Draw, Draw.id == KeyRow.draw_id)
        .where(Serving.status.not_in(DOUBTFUL))
    )


def marks_by_filling(db: Session, as_of: date) -> dict[int, tuple[FaultsMarked, ...]]:
    """Return by id of the filling what enough assessors marked in a session for a hold.

    Only revealed sessions held by *as_of* tell.
    """
    query = select(Draw.filling_id, PanelSession.name, Person.id, FaultMark.fault).where(
        Draw.filling_id.is_not(None),
        PanelSession.status == SessionStatus.REVEALED,
        or_(PanelSession.held_on.is_(None), PanelSession.held_on <= as_of),
    )
    people: dict[tuple[int, str], set[int]] = defaultdict(set)
    faults: dict[tuple[int, str], set[str]] = defaultdict(set)
    for filling_id, session, person_id, fault in db.execute(on_marked_glasses(query)):
        people[filling_id, session].add(person_id)
        faults[filling_id, session].add(fault.value)
    found: dict[int, tuple[FaultsMarked, ...]] = defaultdict(tuple)
    for (filling_id, session), marked in sorted(faults.items()):
        count = len(people[filling_id, session])
        if count >= MARKS_FOR_HOLD:
            found[filling_id] += (FaultsMarked(session, tuple(sorted(marked)), count),)
    return found
