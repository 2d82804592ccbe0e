"""What the pourer sees of a draw: its colour and how clear it is, entered as it is poured.

Colour can tell a glass from its neighbour, so that whoever scores must not have read it: it stands
nowhere before a session that pours the draw is revealed, and then on the page of its cask
(`panel.store.draw_looks`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import EntriesAtFault, UnknownRecord
from panel.kinds import Clarity
from panel.store.draws import Draw
from panel.store.finding import nearest_words
from panel.store.house import today_at_site
from panel.store.log import append_entry
from panel.store.who import printing_person
from panel.store.word_text import name_fault

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session

LONGEST_COLOUR = 40


@dataclass(frozen=True)
class Look:
    """What is on record of how a sample looks."""

    sample: str
    colour: str | None
    clarity: Clarity | None


def note_look(
    db: Session,
    sample: str,
    *,
    colour: str | None = None,
    clarity: Clarity | None = None,
    now: datetime,
    by: str | None,
) -> Look:
    """Keep colour and clarity of a sample, by a lead or a pourer who is named.

    What is not given stays as it was. The log says of which sample, not what was seen.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is no such sample; or whoever acts neither leads nor pours.
    EntriesAtFault
        Nothing is said, or the colour is no short text.
    """
    who = printing_person(db, by, on=today_at_site(db, now)).code
    if faults := _faults(colour, clarity):
        raise EntriesAtFault(faults)
    draw = db.scalar(select(Draw).where(Draw.label == sample))
    if draw is None:
        near = nearest_words(sample, db.scalars(select(Draw.label)))
        raise UnknownRecord(f"There is no sample {sample!r} in the records.{near}")
    draw.colour, draw.clarity = colour or draw.colour, clarity or draw.clarity
    append_entry(db, at=now, by=who, action="sample looked at", details={"sample": sample})
    return Look(sample, draw.colour, draw.clarity)


def _faults(colour: str | None, clarity: Clarity | None) -> dict[str, str]:
    if not (colour or clarity):
        return {"colour": "say its colour (--colour) or how clear it is (--clarity)"}
    wrong = name_fault(colour) if colour else None
    if colour and len(colour) > LONGEST_COLOUR:
        wrong = f"has at most {LONGEST_COLOUR} characters"
    return {"colour": f"the colour {wrong}"} if wrong else {}
