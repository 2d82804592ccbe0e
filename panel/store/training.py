"""Who is in training, from which day on, and from which day they are one of the panel.

What somebody scores in training is kept and counts for nothing of the house's: whether a glass was
nosed in training is told by the day of its session, here and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from sqlalchemy import CheckConstraint, ColumnElement, ForeignKey, exists, or_, select
from sqlalchemy.orm import Mapped, Session, aliased, mapped_column, relationship

from panel.kinds import KindFacts, Role
from panel.store.base import Bound
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving
from panel.store.who import people_with


class Training(Bound):
    """One training of one person: it begins on a day and ends on the day they are taken in."""

    __tablename__ = "training"
    __table_args__ = (CheckConstraint("taken_in_on >= begun_on", name="taken_in_after_begun"),)

    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    begun_on: Mapped[date] = mapped_column(primary_key=True)
    taken_in_on: Mapped[date | None]

    person: Mapped[Person] = relationship()

    def holds_on(self, day: date) -> bool:
        """Say whether the person is in training on a day."""
        return self.begun_on <= day and (self.taken_in_on is None or day < self.taken_in_on)


def nosed_in_training() -> ColumnElement[bool]:
    """Return what tells of a `Serving` whether its assessor was in training that day."""
    held = aliased(PanelSession)
    return exists(
        select(Training.person_id)
        .join(held, held.id == Serving.session_id)
        .where(Training.person_id == Serving.person_id, Training.begun_on <= held.held_on)
        .where(or_(Training.taken_in_on.is_(None), held.held_on < Training.taken_in_on))
        .correlate(Serving)
    )


def trainings_of(db: Session, person: Person) -> list[Training]:
    """Return somebody's trainings, oldest first."""
    asked = select(Training).where(Training.person_id == person.id)
    return list(db.scalars(asked.order_by(Training.begun_on)))


def trainings(db: Session) -> list[Training]:
    """Return every training, by person and day."""
    asked = select(Training).join(Person).order_by(Person.code, Training.begun_on)
    return list(db.scalars(asked))


def by_code(found: Iterable[Training]) -> Mapping[str, list[Training]]:
    """Lay trainings out by the code of the person."""
    laid: dict[str, list[Training]] = {}
    for each in found:
        laid.setdefault(each.person.code, []).append(each)
    return laid


def in_training_on(found: Iterable[Training], day: date | None) -> bool:
    """Say whether one of somebody's trainings holds on a day; on no day on record none does."""
    return day is not None and any(each.holds_on(day) for each in found)


def is_exercise(db: Session, session: PanelSession) -> bool:
    """Say whether all who sit in a session are in training: nobody of the panel does."""
    people = [seat.person for seat in session.assessors]
    return bool(people) and all(
        in_training_on(trainings_of(db, person), session.held_on) for person in people
    )


def codes_in_training(db: Session, on: date) -> frozenset[str]:
    """Return the codes of those who are in training on a day."""
    return frozenset(each.person.code for each in trainings(db) if each.holds_on(on))


def panel_on(db: Session, on: date) -> list[Person]:
    """Return the assessors of a day whose scores count for the house, by code."""
    training = codes_in_training(db, on)
    return [p for p in people_with(db, Role.ASSESSOR, on) if p.code not in training]


def assessors_for(db: Session, facts: KindFacts, on: date) -> list[Person]:
    """Return the assessors who may sit in a session of a kind on a day, by code.

    Who is in training sits only where there are values of the panel to be held against.
    """
    return people_with(db, Role.ASSESSOR, on) if facts.pooled else panel_on(db, on)
