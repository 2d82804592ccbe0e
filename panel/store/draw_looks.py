"""Of which draws colour and clarity may be seen by now."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.kinds import SessionStatus
from panel.store.draws import Draw
from panel.store.key import KeyRow, PlannedDraw
from panel.store.sessions import PanelSession


def looks_shown(db: Session, draws: Collection[int]) -> frozenset[int]:
    """Return of which draws colour and clarity are shown: all that poured them are revealed.

    One that no session has poured yet is not shown either: whoever scores it may look on.
    """
    poured = select(KeyRow.draw_id, PanelSession.status).join(
        PanelSession, PanelSession.id == KeyRow.session_id
    )
    planned = select(PlannedDraw.draw_id, PanelSession.status).join(
        PanelSession, PanelSession.id == PlannedDraw.session_id
    )
    told: dict[int, bool] = {}
    for asked in (
        poured.where(KeyRow.draw_id.in_(draws)),
        planned.where(PlannedDraw.draw_id.in_(draws)),
    ):
        for draw, status in db.execute(asked.distinct()):
            told[draw] = told.get(draw, True) and status is SessionStatus.REVEALED
    return frozenset(draw for draw, shown in told.items() if shown)


def look_words(draw: Draw) -> str:
    """Return colour and clarity as a line says them, empty where nobody looked."""
    told = (draw.colour, draw.clarity and draw.clarity.value)
    return ", ".join(word for word in told if word)
