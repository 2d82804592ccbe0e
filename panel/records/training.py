"""Training: somebody begins it on a day, and is taken in by the lead once they are ready."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import NotAllowed, OakpanelError
from panel.frames.training import readiness
from panel.kinds import Role, SessionStatus
from panel.records.deed import deed
from panel.store.sessions import PanelSession, SessionAssessor
from panel.store.training import Training, trainings_of
from panel.store.who import has_role, person_by_code

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session

    from analysis.training import Training as Readiness
    from panel.store.people import Person


@dataclass(frozen=True)
class TrainingBegun:
    """From which day on somebody is in training."""

    person: str
    begun_on: date


@dataclass(frozen=True)
class TakenIn:
    """From which day on somebody is one of the panel, and how many exercises had shown it."""

    person: str
    taken_in_on: date
    n_exercises: int


def begin_training(
    db: Session, code: str, *, begun_on: date | None = None, now: datetime, by: str | None
) -> TrainingBegun:
    """Put an assessor into training: what they score from that day on counts for nothing.

    The day may lie back, and then what they scored since leaves the house's profile too.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is nobody of that code; they are no assessor; or whoever acts does not lead.
    OakpanelError
        They are in training, or the day lies in one or is to come; or since then they answered in a
        session in which nothing may be left out any more.
    """
    with deed(db, "training begun", now=now, by=by) as done:
        person, day = person_by_code(db, code), begun_on or done.on
        if not has_role(person, Role.ASSESSOR):
            raise NotAllowed(f"{code} is no assessor: `oakpanel people role {code} +assessor`.")
        if faults := [*_day_faults(db, person, day, done.on), *_counted(db, person, day)]:
            raise OakpanelError("\n".join(faults))
        db.add(Training(person_id=person.id, begun_on=day))
        db.flush()
        done.details.update(person=code, begun_on=day.isoformat())
    return TrainingBegun(code, day)


def _day_faults(db: Session, person: Person, day: date, today: date) -> list[str]:
    faults = [f"{day} is still to come."] if day > today else []
    for each in trainings_of(db, person):
        if each.taken_in_on is None:
            faults.append(f"{person.code} is in training since {each.begun_on}.")
        elif day < each.taken_in_on:
            faults.append(f"{person.code} was taken in on {each.taken_in_on}, after {day}.")
    return faults


def _counted(db: Session, person: Person, day: date) -> list[str]:
    """Sessions since that day of which what they answered has led to something."""
    asked = (
        select(PanelSession)
        .join(SessionAssessor, SessionAssessor.session_id == PanelSession.id)
        .where(SessionAssessor.person_id == person.id, PanelSession.held_on >= day)
        .where(PanelSession.status != SessionStatus.DRAFT)
        .order_by(PanelSession.held_on, PanelSession.name)
    )
    return [
        f"{person.code} sits in {found.name} of {found.held_on}, which is "
        f"{found.kind.facts.scored}: let training begin after it (`--on DATE`)."
        for found in db.scalars(asked)
        if not found.kind.facts.pooled
    ]


def take_in(
    db: Session, code: str, *, on: date | None = None, now: datetime, by: str | None
) -> TakenIn:
    """Take somebody in who is ready: from that day on they are one of the panel.

    What they scored in training stays apart for good.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is nobody of that code; they are not ready; or whoever acts does not lead.
    OakpanelError
        They are not in training, or the day is to come or not after their last exercise.
    """
    with deed(db, "taken in", now=now, by=by) as done:
        person = person_by_code(db, code)
        training = next((t for t in trainings_of(db, person) if t.taken_in_on is None), None)
        if training is None:
            raise OakpanelError(f"{code} is not in training.")
        found = readiness(db, training, as_of=done.on)
        if not found.ready:
            raise NotAllowed(f"{code} is not called ready: `oakpanel training show {code}`.")
        first = max(done.on, _last_exercise(found, training.begun_on) + timedelta(days=1))
        day = on or first
        if day <= _last_exercise(found, training.begun_on):
            raise OakpanelError(f"{code} sat in an exercise after {day}: a later day, as {first}.")
        if day > first:
            raise OakpanelError(f"{day} is still to come.")
        training.taken_in_on = day
        db.flush()
        done.details.update(person=code, taken_in_on=day.isoformat())
    return TakenIn(code, day, found.n_exercises)


def _last_exercise(found: Readiness, begun_on: date) -> date:
    days = [date.fromisoformat(each.held_on) for each in found.exercises if each.held_on]
    return max([begun_on, *days])
