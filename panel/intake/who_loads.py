"""Who may take records in, and who may take names out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.errors import NotAllowed
from panel.intake.kinds import Kind
from panel.kinds import Role
from panel.store.who import acting_person, lead_code, people_with

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


def loader(db: Session, by: str | None, kind: Kind) -> str:
    """Return the code of who loads: a lead (or a blender for targets and plans).

    While a new house has no lead yet, anyone may load: that is how its first people come in.
    """
    if not people_with(db, Role.LEAD):
        return by or "nobody yet"
    if kind in {Kind.TARGETS, Kind.PLANS} and by is not None:
        try:
            return acting_person(db, by, Role.BLENDER).code
        except NotAllowed:
            pass
    return lead_code(db, by)


def refuse_names(db: Session, by: str | None) -> None:
    """Raise NotAllowed unless a lead asks for real names; a house without one may have them."""
    if people_with(db, Role.LEAD):
        lead_code(db, by)
