"""To what somebody of the panel has consented: on which day, to which text, and till when."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, select
from sqlalchemy.orm import Mapped, Session, mapped_column, relationship

from panel.store.base import Bound
from panel.store.people import Person


class Consent(Bound):
    """One consent, as it was given; a later one is a row of its own.

    `keeps_scores` is whether the person agreed that scores stay under a pseudonym once they are
    erased. A consent that was withdrawn stays on record, with its day, for as long as the person.
    """

    __tablename__ = "consent"
    __table_args__ = (
        CheckConstraint("text_version <> ''", name="text_version_not_empty"),
        CheckConstraint("withdrawn_on >= given_on", name="withdrawn_after_given"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), index=True)
    given_on: Mapped[date]
    text_version: Mapped[str]
    keeps_scores: Mapped[bool]
    withdrawn_on: Mapped[date | None]

    person: Mapped[Person] = relationship()


def consents_of(db: Session, person: Person) -> list[Consent]:
    """Return what somebody consented to, oldest first."""
    asked = select(Consent).where(Consent.person_id == person.id)
    return list(db.scalars(asked.order_by(Consent.given_on, Consent.id)))


def last_consents(db: Session) -> dict[int, Consent]:
    """Return the consent of each person that was given last, by the person's number."""
    asked = select(Consent).order_by(Consent.given_on, Consent.id)
    return {consent.person_id: consent for consent in db.scalars(asked)}
