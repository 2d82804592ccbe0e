"""People as a list: codes and roles, never names or PINs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from panel.store.consents import Consent, last_consents
from panel.store.owning import recovered_pins
from panel.store.people import Person
from panel.store.retention import people_past
from panel.store.sessions import SessionAssessor
from panel.store.training import trainings

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class ConsentStanding:
    """The last consent of somebody, and when it was withdrawn if it was."""

    given_on: date
    text_version: str
    keeps_scores: bool
    withdrawn_on: date | None


@dataclass(frozen=True)
class PersonLine:
    """A person as a list shows them: no name, no hash."""

    code: str
    roles: tuple[str, ...]
    has_pin: bool
    joined_on: date | None
    left_on: date | None
    n_sessions: int
    recovered_on: date | None = None
    """When the PIN was given past the leads, if that is not long ago."""
    consent: ConsentStanding | None = None
    """What they consented to last."""
    past: str | None = None
    """Why who they are is to be erased by now, if it is."""
    in_training_since: date | None = None
    """Since when they are in training, if they are."""

    json_keys = (
        *("code", "roles", "has_pin", "joined_on", "left_on", "consent"),
        ("past", "kept_too_long_reason"),
        "in_training_since",
    )

    def is_here(self, on: date) -> bool:
        """Tell whether the person is of the house on a date."""
        joined = self.joined_on is None or self.joined_on <= on
        return joined and not self.has_left(on)

    def has_left(self, on: date) -> bool:
        """Tell whether the person has left by a date."""
        return self.left_on is not None and self.left_on <= on


def people_lines(
    db: Session,
    *,
    there_on: date | None = None,
    now: datetime | None = None,
    today: date | None = None,
) -> list[PersonLine]:
    """Return everybody ever recorded by code; with a date, without those who have left by then.

    With *now* it also says whose PIN was given past the leads of late; with *today* who is kept for
    longer than the house says.
    """
    of_late = [] if now is None else recovered_pins(db, now=now)
    recovered = {each.code: each.at.date() for each in reversed(of_late)}
    seats = select(SessionAssessor.person_id, func.count()).group_by(SessionAssessor.person_id)
    counts = {person_id: count for person_id, count in db.execute(seats)}
    consents = last_consents(db)
    past = {} if today is None else people_past(db, today)
    training = {t.person.code: t.begun_on for t in trainings(db) if t.taken_in_on is None}
    lines = [
        PersonLine(
            code=person.code,
            roles=tuple(held.role.value for held in person.roles),
            has_pin=person.pin_hash is not None,
            joined_on=person.joined_on,
            left_on=person.left_on,
            n_sessions=counts.get(person.id, 0),
            recovered_on=recovered.get(person.code),
            consent=_standing(consents.get(person.id)),
            past=past.get(person.code),
            in_training_since=training.get(person.code),
        )
        for person in db.scalars(select(Person).order_by(Person.code))
    ]
    return [line for line in lines if there_on is None or not line.has_left(there_on)]


def _standing(consent: Consent | None) -> ConsentStanding | None:
    if consent is None:
        return None
    what = (consent.given_on, consent.text_version, consent.keeps_scores)
    return ConsentStanding(*what, consent.withdrawn_on)
