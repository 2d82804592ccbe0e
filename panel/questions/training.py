"""Who is in training, how far they are, and what an exercise can be poured from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import exists, func, select

from panel.errors import OakpanelError
from panel.frames.judging import agreement_settings
from panel.frames.training import exercises_held, readiness
from panel.kinds import DrawKind, GlassKind, ServingStatus, SessionStatus, pooled_kinds
from panel.store.draws import Draw
from panel.store.key import KeyRow, behind_serving
from panel.store.people import Person
from panel.store.sessions import PanelSession, Score, Serving
from panel.store.training import nosed_in_training, trainings, trainings_of
from panel.store.who import person_by_code

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.training import Training as Readiness


@dataclass(frozen=True)
class TrainingLine:
    """A training as a list shows it: nothing of how somebody does."""

    person: str
    begun_on: date
    taken_in_on: date | None
    n_exercises: int


@dataclass(frozen=True)
class KnownSample:
    """A sample that the panel has values of, so that an exercise can be poured from it."""

    sample: str
    kind: DrawKind
    n_assessors: int
    n_sessions: int
    last_nosed_on: date | None


def training_lines(db: Session, *, as_of: date) -> tuple[TrainingLine, ...]:
    """Return every training by person and day, with the exercises held by a day."""
    return tuple(
        TrainingLine(
            each.person.code,
            each.begun_on,
            each.taken_in_on,
            exercises_held(db, each, as_of=as_of),
        )
        for each in trainings(db)
    )


def training_standing(db: Session, code: str, *, as_of: date) -> Readiness:
    """Return how far somebody is, for them and the lead alone; also of one who was taken in.

    Of several trainings it is the last.

    Raises
    ------
    UnknownRecord, OakpanelError
        There is nobody of that code; or they never were in training.
    """
    theirs = trainings_of(db, person_by_code(db, code))
    if not theirs:
        raise OakpanelError(f"{code} never was in training: nobody has begun it yet.")
    return readiness(db, theirs[-1], as_of=as_of)


def known_samples(db: Session) -> tuple[KnownSample, ...]:
    """Return the samples that enough of the panel have nosed, reference standards first."""
    noses = func.count(Serving.person_id.distinct())
    asked = (
        select(Draw.label, Draw.kind, noses)
        .add_columns(func.count(PanelSession.id.distinct()), func.max(PanelSession.held_on))
        .select_from(Serving)
        .join(PanelSession, PanelSession.id == Serving.session_id)
        .join(Person, Person.id == Serving.person_id)
        .join(KeyRow, behind_serving())
        .join(Draw, Draw.id == KeyRow.draw_id)
        .where(PanelSession.status == SessionStatus.REVEALED)
        .where(PanelSession.kind.in_(pooled_kinds()))
        .where(Serving.status == ServingStatus.KEPT, KeyRow.kind != GlassKind.WARM_UP)
        .where(~nosed_in_training(), exists().where(Score.serving_id == Serving.id))
        .group_by(Draw.id, Draw.label, Draw.kind)
        .having(noses >= agreement_settings(db).small_panel)
        .order_by(noses.desc(), Draw.label)
    )
    found = [KnownSample(*row) for row in db.execute(asked)]
    return tuple(sorted(found, key=lambda each: each.kind is not DrawKind.REFERENCE))
