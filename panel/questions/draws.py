"""Draws that could be poured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.store.casks import Cask, Filling
from panel.store.draws import Draw

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class DrawLine:
    """A draw that could be poured."""

    label: str
    kind: str
    cask: str
    wood: str
    drawn_on: date | None
    abv: float | None
    volume_ml: float | None


def no_draw() -> DrawLine:
    """Return the line that stands for no draw at all."""
    return DrawLine("none", "no duplicate", "", "", None, None, None)


def two_unseen() -> DrawLine:
    """Return the line that stands for two duplicates, which the secret bits choose."""
    return DrawLine("auto twice", "two, unseen", "", "", None, None, None)


def draw_lines(db: Session) -> list[DrawLine]:
    """Return all draws, the newest first."""
    query = (
        select(
            *(Draw.label, Draw.kind, Cask.number, Cask.wood),
            *(Draw.drawn_on, Draw.abv, Draw.volume_ml),
        )
        .outerjoin(Filling, Filling.id == Draw.filling_id)
        .outerjoin(Cask, Cask.id == Filling.cask_id)
        .order_by(Draw.drawn_on.desc(), Draw.label)
    )
    return [
        DrawLine(label, kind.value, number or "", wood or "", drawn_on, abv, volume_ml)
        for label, kind, number, wood, drawn_on, abv, volume_ml in db.execute(query)
    ]
