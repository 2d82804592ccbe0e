"""What a form lets somebody choose from: makes, and fillings that spirit can come from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.store.casks import Make
from panel.store.filling_states import FillingState, filling_states

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class MakeLine:
    """A new-make spirit; phenols of the malt in ppm."""

    name: str
    site: str
    cereal: str
    phenol_ppm: float
    campaign: str | None


def make_lines(db: Session) -> list[MakeLine]:
    """Return all makes by name."""
    query = select(Make).order_by(Make.name)
    return [
        MakeLine(each.name, each.site, each.cereal, each.phenol_ppm, each.campaign)
        for each in db.scalars(query)
    ]


def parent_lines(db: Session, day: date) -> list[FillingState]:
    """Return the fillings that spirit can come from: those that lie in casks, then the emptied.

    One that is emptied already may be told as a parent afterwards; the latest emptied come first.
    """
    states = filling_states(db, day)
    gone = [state for state in states if state.emptied_on is not None]
    gone.sort(key=lambda state: state.emptied_on or day, reverse=True)
    return [*(state for state in states if state.emptied_on is None), *gone]
