"""Writing the return of a session at the other site, once it is closed there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import SessionError
from panel.figures import in_digits
from panel.kinds import SessionStatus
from panel.session.elsewhere.bottles import lpa
from panel.session.elsewhere.lines import Places, seat_of
from panel.session.elsewhere.sealed_file import return_bytes
from panel.session.elsewhere.values import (
    ChangedValue,
    GivenValue,
    ReturnBody,
    ReturnedAmount,
    ReturnedCall,
    ReturnedFault,
    ReturnedGlass,
    ReturnedMark,
    ReturnedNote,
    ReturnedSeat,
    ReturnedStop,
    ReturnedWord,
)
from panel.session.found import session_at
from panel.store.booth_lines import line_places, tables_of
from panel.store.house import today_at_site
from panel.store.log import append_entry, head_hash
from panel.store.own_words import OwnWord
from panel.store.sessions import (
    FaultMark,
    LeadCall,
    MarkReversal,
    Serving,
    ServingMark,
    ServingNote,
)
from panel.store.site_packs import Moved, PackAmount, SitePack, pack_it_came_in
from panel.store.stops import DrawStop, StoppedMark

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.store.sessions import PanelSession


@dataclass(frozen=True)
class Returned:
    """A return that was written, and the file's bytes."""

    session: str
    site: str
    glasses: int
    finished: int
    received_ml: float
    destroyed_ml: float
    destroyed_lpa: float
    return_hash: str
    contents: bytes

    json_keys = (
        *("session", "site", "glasses", "finished", "received_ml", "destroyed_ml"),
        *("destroyed_lpa", "return_hash"),
    )


def return_session(
    db: Session, name: str, *, destroyed_ml: float | None, now: datetime, by: str
) -> Returned:
    """Write down all that was said of the glasses of a pack, for home; it may be written again.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such closed session.
    SessionError
        It is this house's own, or nobody says how much was destroyed, or more than came.
    """
    session = session_at(db, name, SessionStatus.CLOSED, deed="returning it")
    pack = pack_it_came_in(db, session.id)
    if pack is None:
        raise SessionError(f"Session {name!r} is this house's own: it came in no pack.")
    _note_destroyed(db, pack, destroyed_ml, now=now, by=by)
    body = _body(db, session, pack)
    contents, found = return_bytes(body, pack.secret_hex)
    pack.settled_at, pack.return_hash, pack.held_on = now, found, session.held_on
    details = {"session": name, "pack": pack.file_hash, "return": found}
    append_entry(db, at=now, by=by, action="session returned", details=details)
    return Returned(
        session=name,
        site=pack.site,
        glasses=len(body.glasses),
        finished=sum(glass.finished_at is not None for glass in body.glasses),
        received_ml=body.received.millilitres,
        destroyed_ml=body.destroyed.millilitres,
        destroyed_lpa=lpa(body.destroyed.millilitres, session.nosing_abv),
        return_hash=found,
        contents=contents,
    )


def _amount(pack: SitePack, moved: Moved) -> PackAmount | None:
    return next((row for row in pack.amounts if row.moved is moved), None)


def _note_destroyed(
    db: Session, pack: SitePack, millilitres: float | None, *, now: datetime, by: str
) -> None:
    noted, received = _amount(pack, Moved.DESTROYED), _amount(pack, Moved.RECEIVED)
    if noted is not None and millilitres in {None, noted.millilitres}:
        return
    if noted is not None:
        raise SessionError(f"{noted.millilitres:g} mL destroyed stand in the register already.")
    if millilitres is None:
        raise SessionError("Say how many mL were destroyed, leftovers and glasses poured away.")
    came = received.millilitres if received else 0.0
    if not 0 <= millilitres <= came:
        raise SessionError(
            f"{in_digits(millilitres, 'g')} mL destroyed, and {in_digits(came, 'g')} mL were "
            "received: between 0 and that can be destroyed."
        )
    pack.amounts.append(
        PackAmount(
            moved=Moved.DESTROYED,
            millilitres=millilitres,
            abv=pack.session.nosing_abv,
            moved_on=today_at_site(db, now),
            by_code=by,
        )
    )
    db.flush()


def _body(db: Session, session: PanelSession, pack: SitePack) -> ReturnBody:
    seats = {row.person_id: row.seat for row in pack.seats}
    asked = select(Serving).where(Serving.session_id == session.id)
    order = (Serving.person_id, Serving.flight, Serving.position, Serving.code, Serving.pouring)
    glasses = {glass.id: glass for glass in db.scalars(asked.order_by(*order))}
    lines = {
        chair.person_id: line_places(db, seat_of(chair), session) for chair in session.assessors
    }
    said = _Said(db, session, glasses, seats, lines)
    calls = said.calls()
    if session.held_on is None:
        raise SessionError(f"Session {session.name!r} has no date.")
    return ReturnBody(
        pack_hex=pack.pack_hex,
        pack_hash=pack.file_hash,
        site_head_hex=head_hash(db),
        held_on=session.held_on,
        seats=tuple(said.seats_left()),
        glasses=tuple(said.glass(glass) for glass in glasses.values()),
        calls=tuple(said.call(call) for call in calls),
        stops=tuple(said.stops([call.id for call in calls])),
        received=_told(pack, Moved.RECEIVED),
        destroyed=_told(pack, Moved.DESTROYED),
    )


def _told(pack: SitePack, moved: Moved) -> ReturnedAmount:
    row = _amount(pack, moved)
    if row is None:
        raise SessionError(f"It is not on record how many mL were {moved.value}.")
    return ReturnedAmount(millilitres=row.millilitres, on=row.moved_on, by=row.by_code)


@dataclass(frozen=True)
class _Said:
    """All that stands of one session's glasses, put into the words of a return."""

    db: Session
    session: PanelSession
    glasses: dict[int, Serving]
    seats: dict[int, int]
    lines: dict[int, Places]

    def seats_left(self) -> Iterator[ReturnedSeat]:
        """Give each seat as it was left. Who was not at their best is for that site alone."""
        for seat in self.session.assessors:
            mine = (OwnWord.session_id == self.session.id, OwnWord.person_id == seat.person_id)
            named = self.db.scalars(select(OwnWord).where(*mine).order_by(OwnWord.place))
            words = tuple(
                ReturnedWord(place=word.place, word=word.word, at=word.named_at) for word in named
            )
            yield ReturnedSeat(seat=seat.seat, finished_at=seat.finished_at, words=words)

    def glass(self, glass: Serving) -> ReturnedGlass:
        """Return one glass with all that was said of it."""
        tables, lines = tables_of(self.session), self.lines[glass.person_id]
        given = sorted(tables.given(self.db, [glass.id]), key=lambda row: row[1])
        faults = select(FaultMark).where(FaultMark.serving_id == glass.id)
        note = self.db.get(ServingNote, glass.id)
        return ReturnedGlass(
            seat=self.seats[glass.person_id],
            code=glass.code,
            pouring=glass.pouring,
            read_as=glass.read_as,
            taken_order=glass.taken_order,
            taken_at=glass.taken_at,
            finished_at=glass.finished_at,
            given=tuple(
                GivenValue(line=lines[line], value=row.value, at=row.given_at)
                for _, line, row in given
            ),
            changes=tuple(
                ChangedValue(line=lines[line], value=row.value, at=row.changed_at)
                for line, row in tables.changed(self.db, glass.id)
            ),
            faults=tuple(
                ReturnedFault(fault=row.fault, at=row.marked_at)
                for row in self.db.scalars(faults.order_by(FaultMark.fault))
            ),
            note=ReturnedNote(text=note.text, at=note.written_at) if note else None,
            marks=tuple(self.marks(glass)),
        )

    def marks(self, glass: Serving) -> Iterator[ReturnedMark]:
        """Give what the lead here made of a glass, but for stops: home stops the draw itself."""
        of_stops = select(StoppedMark.mark_id)
        asked = select(ServingMark).where(
            ServingMark.serving_id == glass.id, ServingMark.id.not_in(of_stops)
        )
        rows = list(self.db.scalars(asked.order_by(ServingMark.id)))
        number = {row.id: count for count, row in enumerate(rows)}
        asked_back = select(MarkReversal).where(MarkReversal.mark_id.in_(number))
        back = {row.mark_id: row.reverses_id for row in self.db.scalars(asked_back)}
        for row in rows:
            yield ReturnedMark(
                status=row.status,
                at=row.marked_at,
                by=row.by_code,
                note=row.note,
                reverses=number.get(back.get(row.id, -1)),
            )

    def calls(self) -> list[LeadCall]:
        """Return the calls for the lead, in their order."""
        asked = select(LeadCall).where(LeadCall.session_id == self.session.id)
        return list(self.db.scalars(asked.order_by(LeadCall.id)))

    def call(self, call: LeadCall) -> ReturnedCall:
        """Return one call."""
        glass = self.glasses.get(call.serving_id or 0)
        return ReturnedCall(
            seat=self.seats[call.person_id],
            code=glass.code if glass else None,
            pouring=glass.pouring if glass else None,
            reason=call.reason,
            called_at=call.called_at,
            answered_at=call.answered_at,
        )

    def stops(self, calls: list[int]) -> Iterator[ReturnedStop]:
        """Give the draws that were stopped as not safe."""
        asked = select(DrawStop).where(DrawStop.serving_id.in_(self.glasses))
        for stop in self.db.scalars(asked.order_by(DrawStop.id)):
            glass = self.glasses[stop.serving_id]
            yield ReturnedStop(
                seat=self.seats[glass.person_id],
                code=glass.code,
                pouring=glass.pouring,
                call=calls.index(stop.call_id) if stop.call_id in calls else None,
                stopped_at=stop.stopped_at,
                by=stop.by_code,
                note=stop.note,
                lifted_at=stop.lifted_at,
                lifted_by=stop.lifted_by,
                lifted_because=stop.lifted_because,
            )
