"""Sessions, servings and scores. Nothing here tells which draw a code is."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ColumnElement, ForeignKey, Index, UniqueConstraint, func
from sqlalchemy.orm import Mapped, mapped_column, relationship

from panel.kinds import (
    USUAL_KIND,
    CallReason,
    Fault,
    Manner,
    ServingStatus,
    SessionKind,
    SessionStatus,
)
from panel.store.base import FINITE, Base, Bound, OpenChoice, choice
from panel.store.lexicon import DescriptorVersion
from panel.store.people import Person
from panel.store.word_text import LONGEST_NOTE


class PanelSession(Bound):
    """One evening of blind glasses."""

    __tablename__ = "panel_session"
    __table_args__ = (
        CheckConstraint("name <> ''", name="name_not_empty"),
        CheckConstraint("pause_s >= 0", name="pause_s_not_negative"),
        CheckConstraint("pour_ml > 0", name="pour_ml_positive"),
        CheckConstraint("nosing_abv > 0 AND nosing_abv <= 100", name="nosing_abv_in_range"),
        CheckConstraint(
            "status = 'draft' OR loaded OR key_hash IS NOT NULL", name="sealed_has_hash"
        ),
        CheckConstraint("most_words >= 1", name="most_words_from_one"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    held_on: Mapped[date | None]
    site: Mapped[str | None]
    status: Mapped[SessionStatus] = mapped_column(choice(SessionStatus, "session_status"))
    manner: Mapped[Manner] = mapped_column(choice(Manner, "manner"), default=Manner.NOSE)
    loaded: Mapped[bool] = mapped_column(default=False)
    rehearsal: Mapped[bool] = mapped_column(default=False)
    blind: Mapped[bool] = mapped_column(default=True)
    may_go_back: Mapped[bool] = mapped_column(default=True)
    codes_per_assessor: Mapped[bool] = mapped_column(default=False)
    pause_s: Mapped[int] = mapped_column(default=60)
    pour_ml: Mapped[float] = mapped_column(default=20.0)
    nosing_abv: Mapped[float] = mapped_column(default=20.0)
    kind: Mapped[SessionKind] = mapped_column(OpenChoice(SessionKind), default=USUAL_KIND)
    most_words: Mapped[int | None]
    key_hash: Mapped[str | None]
    sealed_at: Mapped[datetime | None]
    opened_at: Mapped[datetime | None]
    closed_at: Mapped[datetime | None]
    revealed_at: Mapped[datetime | None]
    note: Mapped[str | None]

    assessors: Mapped[list[SessionAssessor]] = relationship(
        back_populates="session", order_by="SessionAssessor.seat"
    )
    descriptors: Mapped[list[SessionDescriptor]] = relationship(
        back_populates="session", order_by="SessionDescriptor.place"
    )
    servings: Mapped[list[Serving]] = relationship(back_populates="session")


class SessionAssessor(Bound):
    """An assessor's seat in a session."""

    __tablename__ = "session_assessor"
    __table_args__ = (UniqueConstraint("session_id", "seat"),)

    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"), primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    seat: Mapped[int]
    knew_key: Mapped[bool] = mapped_column(default=False)
    not_at_best: Mapped[bool] = mapped_column(default=False)
    finished_at: Mapped[datetime | None]

    session: Mapped[PanelSession] = relationship(back_populates="assessors")
    person: Mapped[Person] = relationship()


class SessionDescriptor(Bound):
    """A line of a session's score sheet, with the scale it is scored on."""

    __tablename__ = "session_descriptor"
    __table_args__ = (
        UniqueConstraint("session_id", "place"),
        CheckConstraint("scale_high > scale_low", name="scale_has_length"),
    )

    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"), primary_key=True)
    descriptor_version_id: Mapped[int] = mapped_column(
        ForeignKey("descriptor_version.id"), primary_key=True
    )
    place: Mapped[int]
    scale_low: Mapped[float] = mapped_column(default=0.0)
    scale_high: Mapped[float] = mapped_column(default=100.0)

    session: Mapped[PanelSession] = relationship(back_populates="descriptors")
    descriptor_version: Mapped[DescriptorVersion] = relationship()


class Serving(Bound):
    """One glass for one assessor under a code. A re-poured glass is a new row, pouring + 1.

    `read_as` is the code of the other glass where two changed places on the tray: what was said of
    this one was said of what that code stands for. The code that the assessor saw stays.
    """

    __tablename__ = "serving"
    __table_args__ = (
        UniqueConstraint("session_id", "person_id", "code", "pouring"),
        CheckConstraint("pouring >= 1", name="pouring_from_one"),
        CheckConstraint("flight >= 1", name="flight_from_one"),
        CheckConstraint("position IS NULL OR position >= 0", name="position_not_negative"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"))
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), index=True)
    flight: Mapped[int] = mapped_column(default=1)
    position: Mapped[int | None]
    code: Mapped[str]
    read_as: Mapped[str | None]
    pouring: Mapped[int] = mapped_column(default=1)
    warm_up: Mapped[bool] = mapped_column(default=False)
    status: Mapped[ServingStatus] = mapped_column(
        choice(ServingStatus, "serving_status"), default=ServingStatus.KEPT
    )
    taken_order: Mapped[int | None]
    taken_at: Mapped[datetime | None]
    finished_at: Mapped[datetime | None]

    session: Mapped[PanelSession] = relationship(back_populates="servings")
    person: Mapped[Person] = relationship()
    scores: Mapped[list[Score]] = relationship(back_populates="serving")


def code_read() -> ColumnElement[str]:
    """Return the code under which a glass is read: its own, unless two were exchanged."""
    return func.coalesce(Serving.read_as, Serving.code)


class Score(Bound):
    """The score that counts: the last one given."""

    __tablename__ = "score"
    __table_args__ = (CheckConstraint(FINITE, name="value_finite"),)

    serving_id: Mapped[int] = mapped_column(ForeignKey("serving.id"), primary_key=True)
    descriptor_version_id: Mapped[int] = mapped_column(
        ForeignKey("descriptor_version.id"), primary_key=True
    )
    value: Mapped[float]
    given_at: Mapped[datetime]

    serving: Mapped[Serving] = relationship(back_populates="scores")
    descriptor_version: Mapped[DescriptorVersion] = relationship()


class ScoreChange(Bound):
    """Every score ever given or taken back, in order; `value` is empty where it was cleared."""

    __tablename__ = "score_change"
    __table_args__ = (
        Index("ix_score_change_line", "serving_id", "descriptor_version_id"),
        CheckConstraint(FINITE, name="value_finite"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    serving_id: Mapped[int] = mapped_column(ForeignKey("serving.id"))
    descriptor_version_id: Mapped[int] = mapped_column(ForeignKey("descriptor_version.id"))
    value: Mapped[float | None]
    changed_at: Mapped[datetime]
    by_code: Mapped[str]


class FaultMark(Bound):
    """A fault that an assessor marked on a glass."""

    __tablename__ = "fault_mark"

    serving_id: Mapped[int] = mapped_column(ForeignKey("serving.id"), primary_key=True)
    fault: Mapped[Fault] = mapped_column(choice(Fault, "fault"), primary_key=True)
    marked_at: Mapped[datetime]


class ServingNote(Bound):
    """What an assessor wrote about a glass.

    `long_before` is said of a note that was longer before there was a limit: it stays whole.
    """

    __tablename__ = "serving_note"
    __table_args__ = (
        CheckConstraint(
            f"length(text) <= {LONGEST_NOTE} OR long_before IS NOT NULL", name="text_not_long"
        ),
    )

    serving_id: Mapped[int] = mapped_column(ForeignKey("serving.id"), primary_key=True)
    text: Mapped[str]
    written_at: Mapped[datetime]
    long_before: Mapped[bool | None]


class LeadCall(Bound):
    """A call for the lead from a booth, and when it was answered."""

    __tablename__ = "lead_call"

    id: Mapped[int] = mapped_column(primary_key=True)
    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"), index=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"))
    serving_id: Mapped[int | None] = mapped_column(ForeignKey("serving.id"))
    reason: Mapped[CallReason] = mapped_column(choice(CallReason, "call_reason"))
    called_at: Mapped[datetime]
    answered_at: Mapped[datetime | None]

    person: Mapped[Person] = relationship()
    serving: Mapped[Serving | None] = relationship()


class ServingMark(Bound):
    """What the lead marked on a glass and when: append-only, the last one counts."""

    __tablename__ = "serving_mark"

    id: Mapped[int] = mapped_column(primary_key=True)
    serving_id: Mapped[int] = mapped_column(ForeignKey("serving.id"), index=True)
    status: Mapped[ServingStatus] = mapped_column(choice(ServingStatus, "marked_status"))
    marked_at: Mapped[datetime]
    by_code: Mapped[str]
    note: Mapped[str | None]


class MarkReversal(Bound):
    """A mark that took an earlier one back, by who had set it; of a re-pour one on each glass."""

    __tablename__ = "mark_reversal"

    mark_id: Mapped[int] = mapped_column(ForeignKey("serving_mark.id"), primary_key=True)
    reverses_id: Mapped[int] = mapped_column(ForeignKey("serving_mark.id"))


class BoothSeat(Base):
    """The one booth that may save for an assessor: a new sign-in changes the token.

    Tokens are kept as their SHA-256: that of the booth that saves, and that of the one before it.
    """

    __tablename__ = "booth_seat"
    __table_args__ = (UniqueConstraint("token_hash"),)

    session_id: Mapped[int] = mapped_column(ForeignKey("panel_session.id"), primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), primary_key=True)
    token_hash: Mapped[str]
    taken_at: Mapped[datetime]
    place: Mapped[str | None]
    fenced_hash: Mapped[str | None]
