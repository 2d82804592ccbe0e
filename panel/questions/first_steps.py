"""The six steps of a new house to its first blind session and the release it is for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, select

from panel.kinds import Role
from panel.store.casks import Filling, Make
from panel.store.draws import Draw
from panel.store.lexicon import Descriptor
from panel.store.people import PersonRole
from panel.store.sessions import PanelSession
from panel.store.targets import StoredTarget

if TYPE_CHECKING:
    from sqlalchemy import Select
    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class Step:
    """One step: what it is called, what there is of it already, which file brings it."""

    name: str
    held: int
    kind: str | None

    @property
    def done(self) -> bool:
        """Tell whether it is done."""
        return self.held > 0


NOSES = PersonRole.role == Role.ASSESSOR
STEPS: tuple[tuple[str, str | None, Select[Any]], ...] = (
    ("casks", "casks", select(func.count(Filling.id))),
    ("lexicon", "lexicon", select(func.count(Descriptor.id))),
    ("people", "assessors", select(func.count(PersonRole.person_id)).where(NOSES)),
    ("draws", "draws", select(func.count(Draw.id))),
    ("session", None, select(func.count(PanelSession.id))),
    ("target", "targets", select(func.count(func.distinct(StoredTarget.name)))),
)


def first_steps(db: Session) -> tuple[Step, ...]:
    """Return the steps in their order, with how much there is of each.

    Casks wait for the makes that they hold, so that without makes those come first.
    """
    makes = db.scalar(select(Make.id).limit(1)) is not None
    return tuple(
        Step(name, db.scalar(asked) or 0, kind if makes or kind != "casks" else "makes")
        for name, kind, asked in STEPS
    )
