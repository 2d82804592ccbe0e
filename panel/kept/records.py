"""A digest of every column that the fit reads, and of no other.

The log ends elsewhere after each sign-in and each sheet, though no score changed. What the fit
reads is told by this digest instead: of the sessions that count and nothing else, so that a code
whose session is not revealed is never in it.
"""

from __future__ import annotations

import marshal
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from hashlib import sha256
from typing import Any

from sqlalchemy import Select, and_, or_, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from panel.kinds import EventKind, SessionStatus
from panel.store.casks import Cask, Filling, FillingEvent, standing
from panel.store.draws import Draw
from panel.store.house_setting import HouseSetting
from panel.store.key import KeyRow
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.people import Person
from panel.store.sessions import (
    PanelSession,
    Score,
    Serving,
    SessionAssessor,
    SessionDescriptor,
)
from panel.store.training import Training

Columns = tuple[InstrumentedAttribute[Any], ...]
AT_ONCE = 20_000
_NO_REFERENCES = 2

SESSION: Columns = (PanelSession.id, PanelSession.name, PanelSession.held_on)
SERVING: Columns = (
    *(Serving.id, Serving.session_id, Serving.person_id, Serving.flight, Serving.position),
    *(Serving.code, Serving.read_as, Serving.taken_order, Serving.status, Serving.finished_at),
    Serving.taken_at,
)
TRAINING: Columns = (Training.person_id, Training.begun_on, Training.taken_in_on)
SEAT: Columns = (SessionAssessor.session_id, SessionAssessor.person_id, SessionAssessor.knew_key)
PERSON: Columns = (Person.id, Person.code)
KEY: Columns = (
    *(KeyRow.session_id, KeyRow.tray, KeyRow.code, KeyRow.draw_id, KeyRow.kind),
    KeyRow.replicate,
)
DRAW: Columns = (Draw.id, Draw.label, Draw.filling_id, Draw.batch, Draw.drawn_on)
LINE: Columns = (
    *(SessionDescriptor.session_id, SessionDescriptor.descriptor_version_id),
    *(SessionDescriptor.place, SessionDescriptor.scale_low, SessionDescriptor.scale_high),
)
DESCRIPTOR: Columns = (Descriptor.id, Descriptor.name)
VERSION: Columns = (
    *(DescriptorVersion.id, DescriptorVersion.descriptor_id, DescriptorVersion.version),
    DescriptorVersion.pools_with_previous,
)
SCORE: Columns = (Score.serving_id, Score.descriptor_version_id, Score.value)
FILLING: Columns = (Filling.id, Filling.label, Filling.cask_id, Filling.filled_on)
CASK: Columns = (Cask.id, Cask.number)
EVENT: Columns = (
    *(FillingEvent.id, FillingEvent.filling_id, FillingEvent.kind, FillingEvent.happened_on),
    FillingEvent.parent_filling_id,
)
SETTING: Columns = (HouseSetting.name, HouseSetting.value)
READ: tuple[Columns, ...] = (
    *(SESSION, SERVING, SEAT, TRAINING, PERSON, KEY, DRAW, LINE, DESCRIPTOR, VERSION, SCORE),
    *(FILLING, CASK, EVENT, SETTING),
)
MOVES_SPIRIT = (EventKind.RE_RACKED, EventKind.TOPPED)


def records_digest(db: Session, as_of: date) -> str:
    """Return a digest of all that the fit of the sessions held by a day reads."""
    return digest_of_parts(_parts(db, as_of))


def digest_of_parts(parts: Iterable[Any]) -> str:
    """Return a digest of rows, part by part.

    Plain values are told by the interpreter's own form, seven times sooner than as text. Its second
    version has no back references, so that equal rows are told alike; days and other values go as
    text.
    """
    told = sha256()
    for part in parts:
        try:
            told.update(marshal.dumps(part, _NO_REFERENCES))
        except ValueError:
            told.update(repr(part).encode())
        told.update(b"\n")
    return told.hexdigest()


def counts_by(as_of: date) -> Any:
    """Return what tells the sessions that count: revealed, and held by a day."""
    return and_(
        PanelSession.status == SessionStatus.REVEALED,
        or_(PanelSession.held_on.is_(None), PanelSession.held_on <= as_of),
    )


def _parts(db: Session, as_of: date) -> Iterator[Sequence[Any]]:
    sessions = select(PanelSession.id).where(counts_by(as_of))
    glasses = select(Serving.id).where(Serving.session_id.in_(sessions))
    draws = select(KeyRow.draw_id).where(KeyRow.session_id.in_(sessions))
    lines = select(SessionDescriptor.descriptor_version_id).where(
        SessionDescriptor.session_id.in_(sessions)
    )
    words = select(DescriptorVersion.descriptor_id).where(DescriptorVersion.id.in_(lines))
    people = select(Serving.person_id).where(Serving.session_id.in_(sessions))
    for query in (
        select(*SESSION).where(counts_by(as_of)).order_by(PanelSession.id),
        select(*SERVING).where(Serving.session_id.in_(sessions)).order_by(Serving.id),
        select(*SEAT).where(SessionAssessor.session_id.in_(sessions)).order_by(*SEAT[:2]),
        select(*TRAINING).where(Training.person_id.in_(people)).order_by(*TRAINING[:2]),
        select(*PERSON).where(Person.id.in_(people)).order_by(Person.id),
        select(*KEY).where(KeyRow.session_id.in_(sessions)).order_by(*KEY[:3]),
        select(*DRAW).where(Draw.id.in_(draws)).order_by(Draw.id),
        select(*LINE).where(SessionDescriptor.session_id.in_(sessions)).order_by(*LINE[:2]),
        select(*DESCRIPTOR).where(Descriptor.id.in_(words)).order_by(Descriptor.id),
        select(*VERSION)
        .where(DescriptorVersion.descriptor_id.in_(words))
        .order_by(DescriptorVersion.id),
        select(*SCORE).where(Score.serving_id.in_(glasses)).order_by(*SCORE[:2]),
        select(*SETTING).order_by(HouseSetting.name),
    ):
        yield from rows_of(db, query)
    yield from _of_casks(db, draws)


def rows_of(db: Session, query: Select[Any]) -> Iterator[Sequence[Any]]:
    """Give rows as the driver has them, some thousands at a time."""
    cursor = db.connection().execute(query).cursor
    while rows := cursor.fetchmany(AT_ONCE):
        yield [tuple(row) for row in rows]


def _of_casks(db: Session, draws: Select[Any]) -> Iterator[Sequence[Any]]:
    """What was nosed came from: its filling, and those that spirit came into it from.

    A cask that nobody nosed changes no fit, and there are many thousands of them.
    """
    nosed = select(Draw.filling_id).where(Draw.id.in_(draws), Draw.filling_id.is_not(None))
    wanted = {row[0] for rows in rows_of(db, nosed) for row in rows}
    moved = select(*EVENT).where(FillingEvent.kind.in_(MOVES_SPIRIT), standing())
    moved = moved.order_by(FillingEvent.id)
    events = [row for rows in rows_of(db, moved) for row in rows]
    parents: dict[int, set[int]] = {}
    for _, filling, _, _, parent in events:
        parents.setdefault(filling, set()).add(parent)
    todo = list(wanted)
    while todo:
        more = parents.get(todo.pop(), set()) - wanted - {None}
        wanted |= more
        todo += more
    yield [row for row in events if row[1] in wanted]
    fillings = select(*FILLING, *CASK).join(Cask, Cask.id == Filling.cask_id).order_by(Filling.id)
    yield [row for rows in rows_of(db, fillings) for row in rows if row[0] in wanted]
