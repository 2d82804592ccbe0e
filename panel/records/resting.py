"""What was written later and rests on an event or a hold: gauges, draws, releases, sealed keys."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import or_, select

from panel.kinds import EventKind
from panel.store.casks import Filling, FillingEvent, HoldChange, Regauge, standing
from panel.store.draws import Draw, DrawPart
from panel.store.key import KeyRow
from panel.store.releases import Release, ReleasePart
from panel.store.sessions import PanelSession

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from sqlalchemy.orm import Session

    from panel.store.told import Told

MOVES_SPIRIT = (EventKind.RE_RACKED, EventKind.TOPPED, EventKind.EMPTIED)
"""Litres and age are reckoned from these: gauges, draws and what is filled next rest on them."""
SEALED = "session sealed"


def rests_on(db: Session, acts: Sequence[FillingEvent | HoldChange], later: Sequence[Told]) -> str:
    """Return in words a record of the entries *later* that rests on what was done; else nothing."""
    fillings = {act.filling_id for act in acts}
    moving = False
    for act in acts:
        if isinstance(act, FillingEvent):
            moving = moving or act.kind in MOVES_SPIRIT
            fillings |= {act.parent_filling_id} if act.parent_filling_id else set()
    looks: tuple[Callable[[Session, set[int], Told], Iterator[str]], ...]
    looks = (_events, _releases, _sealed, *((_gauges, _draws, _filled) if moving else ()))
    found = (words for entry in later for look in looks for words in look(db, fillings, entry))
    return next(found, "")


def _events(db: Session, fillings: set[int], entry: Told) -> Iterator[str]:
    own = or_(FillingEvent.filling_id.in_(fillings), FillingEvent.parent_filling_id.in_(fillings))
    numbers = entry.numbers(FillingEvent.__tablename__)
    for event in db.scalars(select(FillingEvent).where(own, standing())) if numbers else ():
        if event.id in numbers:
            yield f"{event.filling.label}, {event.kind.value} on {event.happened_on}"


def _releases(db: Session, fillings: set[int], entry: Told) -> Iterator[str]:
    asked = (
        select(Release.name, ReleasePart.release_id, ReleasePart.filling_id)
        .join(ReleasePart, ReleasePart.release_id == Release.id)
        .where(ReleasePart.filling_id.in_(fillings))
    )
    rows = (ReleasePart.__tablename__, Release.__tablename__)
    for name, release, filling in db.execute(asked) if any(map(entry.rows.get, rows)) else ():
        keys = (f"{release},{filling}", f"{filling},{release}")
        part = any(entry.touches(ReleasePart.__tablename__, key) for key in keys)
        if part or entry.touches(Release.__tablename__, release):
            yield f"release {name}"


def _sealed(db: Session, fillings: set[int], entry: Told) -> Iterator[str]:
    if entry.action != SEALED:
        return
    poured = (
        select(PanelSession.name)
        .join(KeyRow, KeyRow.session_id == PanelSession.id)
        .join(Draw, Draw.id == KeyRow.draw_id)
        .outerjoin(DrawPart, DrawPart.draw_id == Draw.id)
        .where(PanelSession.name == str(entry.said.get("session")))
        .where(or_(Draw.filling_id.in_(fillings), DrawPart.filling_id.in_(fillings)))
    )
    for name in db.scalars(poured.limit(1)):
        yield f"session {name}, which is sealed"


def _gauges(db: Session, fillings: set[int], entry: Told) -> Iterator[str]:
    numbers = entry.numbers(Regauge.__tablename__)
    asked = select(Regauge).where(Regauge.filling_id.in_(fillings))
    for gauge in db.scalars(asked) if numbers else ():
        if gauge.id in numbers:
            yield f"the regauge of {gauge.filling.label} on {gauge.gauged_on}"


def _draws(db: Session, fillings: set[int], entry: Told) -> Iterator[str]:
    numbers = entry.numbers(Draw.__tablename__)
    parts = select(DrawPart.draw_id).where(DrawPart.filling_id.in_(fillings))
    asked = select(Draw).where(or_(Draw.filling_id.in_(fillings), Draw.id.in_(parts)))
    for draw in db.scalars(asked) if numbers else ():
        if draw.id in numbers:
            yield f"sample {draw.label}"


def _filled(db: Session, fillings: set[int], entry: Told) -> Iterator[str]:
    """What was filled into the same casks since: something has to have left before."""
    numbers = entry.numbers(Filling.__tablename__) - fillings
    casks = select(Filling.cask_id).where(Filling.id.in_(fillings))
    asked = select(Filling).where(Filling.cask_id.in_(casks))
    for filling in db.scalars(asked) if numbers else ():
        if filling.id in numbers:
            yield f"{filling.label}, filled on {filling.filled_on}"
