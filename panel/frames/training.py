"""The scores that say how far somebody in training is; part of `panel.frames`."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.frames.scores import scores_frame
from panel.kinds import SessionStatus, pooled_kinds
from panel.store.key import KeyRow
from panel.store.sessions import PanelSession, Serving

if TYPE_CHECKING:
    import pandas as pd

    from analysis.training import Training as Readiness
    from panel.store.training import Training


def readiness(db: Session, training: Training, *, as_of: date) -> Readiness:
    """Return how far somebody is in a training of theirs, as of a day.

    A finding about one person: for them and the lead alone.
    """
    from analysis.training import assess_training
    from panel.frames.judging import agreement_settings

    return assess_training(
        _frame(db, training, as_of),
        training.person.code,
        since=training.begun_on,
        settings=agreement_settings(db),
    )


def exercises_held(db: Session, training: Training, *, as_of: date) -> int:
    """Return in how many exercises of a training somebody sat by a day."""
    return len(_exercises(db, training, as_of))


def _frame(db: Session, training: Training, as_of: date) -> pd.DataFrame:
    """The scores of the exercises, and of all sessions in which their samples were nosed."""
    poured = select(KeyRow.draw_id).where(KeyRow.session_id.in_(_exercises(db, training, as_of)))
    holding = select(KeyRow.session_id).where(KeyRow.draw_id.in_(poured))
    asked = select(PanelSession.name).where(
        PanelSession.id.in_(holding), PanelSession.kind.in_(pooled_kinds())
    )
    names = [*db.scalars(asked)]
    return scores_frame(db, sessions=names, as_of=as_of, revealed_only=True)


def _exercises(db: Session, training: Training, as_of: date) -> list[int]:
    """Numbers of the revealed sessions in which they sat in this training."""
    held = PanelSession.held_on
    asked = (
        select(PanelSession.id)
        .distinct()
        .join(Serving, Serving.session_id == PanelSession.id)
        .where(Serving.person_id == training.person_id, PanelSession.kind.in_(pooled_kinds()))
        .where(PanelSession.status == SessionStatus.REVEALED)
        .where(held >= training.begun_on, held <= as_of)
    )
    if training.taken_in_on is not None:
        asked = asked.where(held < training.taken_in_on)
    return list(db.scalars(asked))
