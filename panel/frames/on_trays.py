"""Glasses on the trays of a revealed session with the draw behind each; part of `panel.frames`."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Select, and_, select

from panel.kinds import ServingStatus
from panel.store.draws import Draw
from panel.store.key import KeyRow, behind_serving
from panel.store.people import Person
from panel.store.sessions import Serving, SessionAssessor


def told_of_glasses(session_id: int, *told: Any) -> Select[*tuple[Any, ...]]:
    """Ask for *told* of each glass in the order of seats and trays.

    Person, draw and seat are joined. A glass that was poured again is there as its last pouring.
    """
    return (
        select(*told)
        .select_from(Serving)
        .join(Person, Person.id == Serving.person_id)
        .join(KeyRow, behind_serving())
        .join(Draw, Draw.id == KeyRow.draw_id)
        .outerjoin(
            SessionAssessor,
            and_(
                SessionAssessor.session_id == Serving.session_id,
                SessionAssessor.person_id == Serving.person_id,
            ),
        )
        .where(Serving.session_id == session_id, Serving.status != ServingStatus.RE_POURED)
        .order_by(SessionAssessor.seat, Serving.flight, Serving.position, Serving.id)
    )
