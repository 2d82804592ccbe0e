"""Training: somebody begins it on a day, and is taken in by the lead once they are ready."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from shlex import quote
from typing import TYPE_CHECKING

from sqlalchemy import exists, select

from panel.errors import NotAllowed, OakpanelError
from panel.frames.training import readiness
from panel.kinds import FINISHED, Role, ServingStatus, SessionStatus, pooled_kinds
from panel.records.deed import deed
from panel.store.own_words import OwnWord
from panel.store.sessions import PanelSession, Serving, SessionAssessor
from panel.store.training import Training, trainings_of
from panel.store.who import has_role, person_by_code

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session

    from analysis.training import Training as Readiness
    from panel.store.people import Person

NEXT_DAY = timedelta(days=1)


@dataclass(frozen=True)
class TrainingBegun:
    """From which day on somebody is in training.

    `exercises` are sessions since then in which they scored: these count for nothing else any more.
    """

    person: str
    begun_on: date
    exercises: tuple[str, ...] = ()

    def words(self) -> str:
        """Return it as a person reads it."""
        said = f"{self.person} is in training from {self.begun_on} on."
        if not self.exercises:
            return said
        return (
            f"{said} What they scored in {', '.join(self.exercises)} is an exercise now, and "
            "counts for nothing else."
        )


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

    The day may lie back, and then what they scored since leaves the house's profile too; it may be
    the next one, where what they answered today has to count.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is nobody of that code; they are no assessor; or whoever acts does not lead.
    OakpanelError
        They are in training, or the day lies in one or further off than the next; or since then
        they answered, or have a seat, in a session in which nothing may be left out any more.
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
        return TrainingBegun(code, day, _exercises_now(db, person, day))


def _exercises_now(db: Session, person: Person, day: date) -> tuple[str, ...]:
    """Return the sessions on the lexicon since that day in which they have finished a glass."""
    finished = exists().where(
        Serving.session_id == PanelSession.id,
        Serving.person_id == person.id,
        Serving.finished_at.is_not(None),
    )
    asked = select(PanelSession.name).where(
        PanelSession.held_on >= day, PanelSession.kind.in_(pooled_kinds()), finished
    )
    return tuple(db.scalars(asked.order_by(PanelSession.held_on, PanelSession.id)))


def _day_faults(db: Session, person: Person, day: date, today: date) -> list[str]:
    """A day that has answers which count is over only with the next: that one may be named."""
    late = f"{day} is still to come: today, or the day after, {today + NEXT_DAY}."
    faults = [late] if day > today + NEXT_DAY else []
    for each in trainings_of(db, person):
        if each.taken_in_on is None:
            faults.append(f"{person.code} is in training since {each.begun_on}.")
        elif day < each.taken_in_on:
            faults.append(f"{person.code} was taken in on {each.taken_in_on}, after {day}.")
    return faults


def _counted(db: Session, person: Person, day: date) -> list[str]:
    """Sessions since that day of which what they answer has led to something, or is to."""
    asked = (
        select(PanelSession)
        .join(SessionAssessor, SessionAssessor.session_id == PanelSession.id)
        .where(SessionAssessor.person_id == person.id, PanelSession.held_on >= day)
        .where(PanelSession.status != SessionStatus.DRAFT)
        .order_by(PanelSession.held_on, PanelSession.name)
    )
    rows = [found for found in db.scalars(asked) if not found.kind.facts.pooled]
    return [fault for found in rows if (fault := _counted_in(db, person, found))]


def _counted_in(db: Session, person: Person, session: PanelSession) -> str | None:
    """Say what one of them has of somebody, with the way out; None where they had no part in it."""
    mine = (Serving.session_id == session.id, Serving.person_id == person.id)
    named = (OwnWord.session_id == session.id, OwnWord.person_id == person.id)
    taken = exists().where(*mine, Serving.taken_at.is_not(None))
    to_nose = exists().where(*mine, Serving.status != ServingStatus.VOID)
    where = f"{session.name} of {session.held_on}, which is {session.kind.facts.scored}"
    if db.scalar(select(taken | exists().where(*named))):
        after = (session.held_on or date.max - NEXT_DAY) + NEXT_DAY
        return (
            f"{person.code} nosed in {where}, and that counts. Training begins with a day: let it "
            f"begin with the next (`--on {after}`)."
        )
    if session.status not in FINISHED and db.scalar(select(to_nose)):
        return (
            f"{person.code} has a seat in {where}: let them stay away from it first "
            f"(`oakpanel session seats {quote(session.name)} --absent {person.code}`)."
        )
    return None


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
