"""How much a house has on record."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import func, select

from panel.kinds import SessionStatus
from panel.store.casks import Cask
from panel.store.sessions import PanelSession, Score

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


def house_sizes(db: Session) -> dict[str, int]:
    """Count casks, revealed sessions and scores."""
    over = PanelSession.status == SessionStatus.REVEALED
    return {
        "casks": db.scalar(select(func.count(Cask.id))) or 0,
        "sessions": db.scalar(select(func.count(PanelSession.id)).where(over)) or 0,
        "scores": db.scalar(select(func.count()).select_from(Score)) or 0,
    }
