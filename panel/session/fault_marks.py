"""What fault marks lead to at the reveal: one asks for a clean re-draw, two put on hold."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.store.draws import Draw
from panel.store.marks_of_fault import MARKS_FOR_HOLD, on_marked_glasses
from panel.store.people import Person
from panel.store.sessions import FaultMark, PanelSession, Serving


@dataclass
class _Marked:
    """Who marked what on glasses of one liquid."""

    draws: dict[int, Draw] = field(default_factory=dict)
    assessors: set[str] = field(default_factory=set)
    faults: set[str] = field(default_factory=set)

    def fault_words(self) -> str:
        return ", ".join(sorted(self.faults))

    def draw_words(self) -> str:
        return " and ".join(sorted(draw.label for draw in self.draws.values()))


def act_on_faults(db: Session, session: PanelSession) -> list[str]:
    """Put fillings with two marks or more on hold, and return what was done or is to do.

    Two marks count when they come from different assessors on glasses of one filling.
    """
    found = _marks_by_liquid(db, session)
    return [sentence for _, marked in sorted(found.items()) for sentence in _act(session, marked)]


def _marks_by_liquid(db: Session, session: PanelSession) -> Mapping[str, _Marked]:
    """Group by filling where a draw has one, else by the draw itself."""
    query = select(Draw, Person.code, FaultMark.fault)
    rows = db.execute(on_marked_glasses(query.where(Serving.session_id == session.id)))
    found: dict[str, _Marked] = defaultdict(_Marked)
    for draw, assessor, fault in rows:
        marked = found[draw.filling.label if draw.filling else draw.label]
        marked.draws[draw.id] = draw
        marked.assessors.add(assessor)
        marked.faults.add(fault.value)
    return found


def _act(session: PanelSession, marked: _Marked) -> Iterator[str]:
    what, where = marked.fault_words(), marked.draw_words()
    filling = next(iter(marked.draws.values())).filling
    if len(marked.assessors) < MARKS_FOR_HOLD:
        yield f"One assessor marked {what} on {where}: take a clean re-draw and nose it again."
        return
    count = f"{len(marked.assessors)} assessors marked {what} on {where}"
    if filling is None:
        yield f"{count}: do not serve it again before it is checked."
    elif filling.hold_reason is not None:
        yield f"{count}: {filling.label} was on hold already ({filling.hold_reason})."
    else:
        filling.hold_reason = f"{what}, marked in session {session.name}"
        yield f"{count}: {filling.label} is on hold until the lead has looked at it."
