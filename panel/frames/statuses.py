"""How a glass counts, in whatever frame it stands: one answer for all of them."""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, String, and_, case, cast

from panel.kinds import KNEW_KEY, ServingStatus
from panel.store.sessions import Serving, SessionAssessor
from panel.store.training import nosed_in_training


def status_told() -> ColumnElement[Any]:
    """Return the status of a `Serving` as frames have it, beside the seat of its assessor.

    What the lead made of a glass goes first; a kept one is told apart where its assessor knew the
    key, or was in training.
    """
    from analysis.score_statuses import IN_TRAINING

    kept = Serving.status == ServingStatus.KEPT
    return case(
        (and_(SessionAssessor.knew_key, kept), KNEW_KEY),
        (and_(kept, nosed_in_training()), IN_TRAINING),
        else_=cast(Serving.status, String),
    )
