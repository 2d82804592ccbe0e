"""How long what is close to a person is kept, and what is past its time."""

from __future__ import annotations

from datetime import date, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.clock import site_date
from panel.store.consents import last_consents
from panel.store.house import number_setting, read_setting
from panel.store.people import Person
from panel.store.sessions import PanelSession, SessionAssessor

ERASED = "gone-"
"""What the code of somebody begins with who was erased."""
YEAR_DAYS = 365.25


def own_mark_is_told(db: Session, session: PanelSession, on: date) -> bool:
    """Tell whether who was not at their best in a session is told still, on a day."""
    day = _day_of(db, session)
    return day is None or on <= day + timedelta(days=number_setting(db, "own_mark_days"))


def own_marks_past(db: Session, on: date) -> list[SessionAssessor]:
    """Return the seats whose mark of not being at their best is past its time on a day."""
    marked = select(SessionAssessor).where(SessionAssessor.not_at_best.is_(True))
    return [seat for seat in db.scalars(marked) if not own_mark_is_told(db, seat.session, on)]


def _day_of(db: Session, session: PanelSession) -> date | None:
    if session.held_on is not None or session.opened_at is None:
        return session.held_on
    return site_date(session.opened_at, str(read_setting(db, "time_zone")))


def people_past(db: Session, on: date) -> dict[str, str]:
    """Return by code why somebody's identity is to be erased by now; nobody is erased unasked.

    Who left longer ago than the house keeps names, and who has withdrawn their consent.
    """
    kept_days = number_setting(db, "names_kept_years") * YEAR_DAYS
    consents = last_consents(db)
    found = {}
    for person in db.scalars(select(Person).order_by(Person.code)):
        consent = consents.get(person.id)
        if person.code.startswith(ERASED):
            continue
        if consent is not None and consent.withdrawn_on is not None:
            found[person.code] = f"withdrew their consent on {consent.withdrawn_on}"
        elif person.left_on is not None and (on - person.left_on).days > kept_days:
            found[person.code] = f"left on {person.left_on}, longer ago than names are kept"
    return found
