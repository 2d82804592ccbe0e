"""The scores that say how far somebody in training is; part of `panel.frames`."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.frames.scores import scores_frame
from panel.kinds import SessionStatus, pooled_kinds
from panel.store.key import KeyRow
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving
from panel.store.training import nosed_in_training

if TYPE_CHECKING:
    import pandas as pd

    from analysis.training import Training as Readiness


def training_frame(db: Session, code: str, *, as_of: date) -> pd.DataFrame:
    """Return the exercises of somebody, and the sessions in which their samples were nosed.

    Exercises are the revealed sessions in which they sat while in training, held by a day.
    """
    exercises = _exercises(db, code, as_of)
    poured = select(KeyRow.draw_id).where(KeyRow.session_id.in_(exercises))
    holding = select(KeyRow.session_id).where(KeyRow.draw_id.in_(poured))
    asked = select(PanelSession.name).where(
        PanelSession.id.in_(holding), PanelSession.kind.in_(pooled_kinds())
    )
    names = [*db.scalars(asked)]
    return scores_frame(db, sessions=names, as_of=as_of, revealed_only=True)


def readiness(db: Session, code: str, *, as_of: date) -> Readiness:
    """Return how far somebody in training is, as of a day.

    A finding about one person: for them and the lead alone.
    """
    from analysis.training import assess_training
    from panel.frames.judging import agreement_settings

    frame = training_frame(db, code, as_of=as_of)
    return assess_training(frame, code, settings=agreement_settings(db))


def _exercises(db: Session, code: str, as_of: date) -> list[int]:
    asked = (
        select(PanelSession.id)
        .distinct()
        .join(Serving, Serving.session_id == PanelSession.id)
        .join(Person, Person.id == Serving.person_id)
        .where(Person.code == code, PanelSession.kind.in_(pooled_kinds()))
        .where(PanelSession.status == SessionStatus.REVEALED, PanelSession.held_on <= as_of)
        .where(nosed_in_training())
    )
    return list(db.scalars(asked))


def exercises_held(db: Session, code: str, *, as_of: date) -> int:
    """Return in how many exercises somebody sat."""
    return len(_exercises(db, code, as_of))
