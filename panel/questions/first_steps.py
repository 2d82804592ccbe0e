"""The six steps of a new house to its first blind session and the release it is for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, select

from panel.kinds import DrawKind, Role
from panel.store.casks import Filling, Make
from panel.store.draws import Draw
from panel.store.lexicon import Descriptor
from panel.store.people import Person, PersonRole
from panel.store.sessions import PanelSession
from panel.store.targets import StoredTarget

if TYPE_CHECKING:
    from sqlalchemy import Select
    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class Step:
    """One step: what it is called, what there is of it already, which file brings it.

    `wanting` says what there is still to do where something is held already.
    """

    name: str
    held: int
    kind: str | None
    wanting: str = ""

    @property
    def done(self) -> bool:
        """Tell whether it is done."""
        return self.held > 0 and not self.wanting


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
    wanting = {"people": _no_pins(db), "draws": _no_reference(db)}
    return tuple(
        Step(
            name,
            db.scalar(asked) or 0,
            kind if makes or kind != "casks" else "makes",
            wanting.get(name, ""),
        )
        for name, kind, asked in STEPS
    )


def _no_pins(db: Session) -> str:
    """Say how many of those who nose could not sign in at a booth."""
    noses = select(Person.pin_hash).join(PersonRole).where(NOSES, Person.left_on.is_(None))
    pins = db.scalars(noses).all()
    without = sum(pin is None for pin in pins)
    return f"{without} of {len(pins)} have no PIN for a booth yet: 5 People" if without else ""


def _no_reference(db: Session) -> str:
    """Say that there is no draw that sessions could be linked by."""
    asked = select(Draw.id).where(Draw.kind == DrawKind.REFERENCE).limit(1)
    return "" if db.scalar(asked) else "no reference yet, which links one session to the next"
