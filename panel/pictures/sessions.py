"""Pictures of what a session says, by what kind of answer it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.agreement import Agreement
from analysis.pictures.found import what_was_found
from analysis.pictures.stages import where_it_lies
from analysis.pictures.traces import burst_or_linger

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.pictures import Picture, Plane


def pictures_of(answer: object) -> tuple[Picture | Plane, ...]:
    """Return the pictures of a session's answer; none where its lines are not the house's."""
    from panel.questions.stages import StagesFound
    from panel.questions.traces import TracesFound

    if isinstance(answer, StagesFound):
        lies = where_it_lies(answer.stages) if answer.stages else ()
        return (*lies, what_was_found(answer.agreement))
    if isinstance(answer, TracesFound):
        return burst_or_linger(answer.result)
    return (what_was_found(answer),) if isinstance(answer, Agreement) else ()


def pictures_for_lead(
    db: Session, answer: object, *, as_of: date | None = None
) -> tuple[Picture | Plane, ...]:
    """Return the pictures of a session's answer, and who saw its doubtful notes differently.

    They show single assessors, under letters drawn for the page: nobody but the lead gets them.
    """
    from analysis.pictures.seen import who_saw_it
    from panel.questions.seen_differently import seen_unlike
    from panel.questions.stages import StagesFound

    judged = answer.agreement if isinstance(answer, StagesFound) else answer
    seen = seen_unlike(db, judged, as_of=as_of) if isinstance(judged, Agreement) else []
    drawn = (who_saw_it(one.note, one.means, one.signs, session=one.session) for one in seen)
    return (*pictures_of(answer), *drawn)
