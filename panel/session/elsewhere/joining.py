"""Joining a return at home: what was said there stands as if it had been said at a booth here.

All of it in one transaction, or nothing. The log then vouches for every row that came, and holds
the return's hash and the end of the other site's log; that what came was really nosed there it
cannot tell: the log there can be compared with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import SessionError, UnknownRecord
from panel.kinds import ServingStatus, SessionStatus
from panel.session.elsewhere.bottles import lpa
from panel.session.elsewhere.lines import seat_of
from panel.session.elsewhere.sealed_file import prove_return
from panel.session.elsewhere.weighing import Standing, Weighed
from panel.session.found import session_at
from panel.session.marks import mark_row
from panel.session.stopping import StoppedDraw, pairs, take_away
from panel.store.booth_lines import line_places, tables_of
from panel.store.log import append_entry
from panel.store.own_words import OwnWord
from panel.store.sessions import (
    FaultMark,
    LeadCall,
    MarkReversal,
    Serving,
    ServingMark,
    ServingNote,
)
from panel.store.site_packs import Moved, PackAmount, SitePack, sent_ml
from panel.store.stops import DrawStop
from panel.store.word_text import plain_note

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.session.elsewhere.sealed_file import UnreadReturn
    from panel.session.elsewhere.values import ReturnBody, ReturnedGlass, ReturnedStop
    from panel.store.sessions import PanelSession

MOST_TOLD = 20
STILL_TO_DO = (
    "What can still be done: nose those seats here (`oakpanel booth`), key in what was written on "
    "paper (`oakpanel session key`), or send new samples in a new pack (`oakpanel session pack`)."
)
TOO_LATE = "Its key is known: what is scored after that is not blind. Nothing was joined."


@dataclass(frozen=True)
class Joined:
    """A return that was joined, and what the lead has to know of it."""

    session: str
    site: str
    assessors: tuple[str, ...]
    glasses: int
    finished: int
    held_on: date
    sent_ml: float
    received_ml: float
    destroyed_ml: float
    destroyed_lpa: float
    return_hash: str
    site_head: str
    notes: tuple[str, ...]

    json_keys = (
        *("session", "site", "assessors", "glasses", "finished", "held_on", "sent_ml"),
        *("received_ml", "destroyed_ml", "destroyed_lpa", "return_hash", "site_head", "notes"),
    )


def join_return(
    db: Session, unread: UnreadReturn, *, without: Sequence[str] = (), now: datetime, by: str
) -> Joined:
    """Join what came back from another site; seats of people in *without* stay as scored here.

    What was stopped there as not safe is stopped here, at whatever seat it was found.

    Raises
    ------
    UnknownRecord
        This house sent no such pack.
    WrongState
        The session is not open or closed.
    SessionError
        It was joined before or its pack was called back; a byte was changed; or it does not fit
        this house's own rows: every fault at once.
    """
    pack = _pack_of(db, unread)
    stages = (SessionStatus.OPEN, SessionStatus.CLOSED)
    session = session_at(db, pack.session.name, *stages, deed="joining a return", too_late=TOO_LATE)
    body, found = prove_return(unread, pack.secret_hex)
    weighed = Weighed(db, session, pack, body, tuple(dict.fromkeys(without)))
    _refuse(weighed)
    joining = _Joining(weighed, now, by)
    joining.write()
    pack.settled_at, pack.return_hash, pack.held_on = now, found, body.held_on
    pack.site_head_hex = body.site_head_hex
    _note_amounts(pack, body)
    details: dict[str, object] = {
        "session": session.name,
        "site": pack.site,
        "pack": pack.file_hash,
        "return": found,
        "site_head": body.site_head_hex,
        "glasses": len(weighed.joined),
    }
    if weighed.without:
        details["without"] = list(weighed.without)
    if joining.stopped:
        details["stopped"] = pairs(*joining.stopped)
    append_entry(db, at=now, by=by, action="return joined", details=details)
    return _told(joining, found)


def _pack_of(db: Session, unread: UnreadReturn) -> SitePack:
    asked = select(SitePack).where(SitePack.pack_hex == unread.pack_hex, SitePack.came.is_(False))
    pack = db.scalar(asked)
    if pack is None:
        raise UnknownRecord("This return is of no pack that this house has sent.")
    where = f"The pack of {pack.session.name!r} for {pack.site}"
    if pack.settled_at is not None:
        raise SessionError(f"{where} was joined on {pack.settled_at:%Y-%m-%d} already.")
    if pack.recalled_at is not None:
        raise SessionError(
            f"{where} was called back on {pack.recalled_at:%Y-%m-%d} "
            f"({pack.recalled_because}): its return is refused for good. {STILL_TO_DO}"
        )
    return pack


def _refuse(weighed: Weighed) -> None:
    faults, pack = list(dict.fromkeys(weighed.faults())), weighed.pack
    if not faults:
        return
    more = [f"  and {len(faults) - MOST_TOLD} more"] if len(faults) > MOST_TOLD else []
    if twice := weighed.scored_twice:
        codes = ", ".join(twice)
        more.append(f"What was scored here can stand, and the rest be joined, without {codes}.")
    head = f"Nothing of {pack.session.name!r} from {pack.site} was joined."
    raise SessionError("\n".join([head, *(f"  - {f}" for f in faults[:MOST_TOLD]), *more]))


@dataclass
class _Joining:
    """One return on its way into the rows."""

    weighed: Weighed
    now: datetime
    by: str
    stopped: list[StoppedDraw] = field(default_factory=list)
    here: dict[Standing, Serving] = field(default_factory=dict)

    @property
    def db(self) -> Session:
        """The transaction."""
        return self.weighed.db

    @property
    def session(self) -> PanelSession:
        """The session at home."""
        return self.weighed.session

    def write(self) -> None:
        """Write seats, glasses, calls and stops."""
        body, left_out = self.weighed.body, self.weighed.left_out
        here = self.weighed.glasses.items()
        self.here |= {standing: glass for standing, glass in here if standing[0] in left_out}
        for seat in body.seats:
            if seat.seat in left_out:
                continue
            chair = self.weighed.chairs[seat.seat]
            chair.finished_at = seat.finished_at
            whose = {"session_id": self.session.id, "person_id": chair.person_id}
            self.db.add_all(
                OwnWord(**whose, place=word.place, word=word.word, named_at=word.at)
                for word in seat.words
            )
        self.db.flush()
        for glass in sorted(self.weighed.joined, key=lambda each: each.pouring):
            self._glass(glass)
        self.db.flush()
        self._calls_and_stops()

    def _glass(self, came: ReturnedGlass) -> None:
        standing = (came.seat, came.code, came.pouring)
        serving = self.weighed.glasses.get(standing) or self._poured_again(came)
        self.here[standing] = serving
        serving.taken_order, serving.taken_at = came.taken_order, came.taken_at
        serving.finished_at, serving.read_as = came.finished_at, came.read_as
        self._values(serving, came)
        self.db.add_all(
            FaultMark(serving_id=serving.id, fault=each.fault, marked_at=each.at)
            for each in came.faults
        )
        if came.note is not None:
            note = ServingNote(text=plain_note(came.note.text), written_at=came.note.at)
            note.serving_id = serving.id
            self.db.add(note)
        self._marks(serving, came)

    def _poured_again(self, came: ReturnedGlass) -> Serving:
        first = self.here[came.seat, came.code, came.pouring - 1]
        poured = Serving(
            session_id=first.session_id,
            person_id=first.person_id,
            flight=first.flight,
            position=first.position,
            code=first.code,
            pouring=came.pouring,
            warm_up=first.warm_up,
            status=ServingStatus.KEPT,
        )
        self.db.add(poured)
        self.db.flush()
        return poured

    def _values(self, serving: Serving, came: ReturnedGlass) -> None:
        tables = tables_of(self.session)
        places = line_places(self.db, seat_of(self.weighed.chairs[came.seat]), self.session)
        lines = {place: line for line, place in places.items()}
        who = serving.person.code
        for change in came.changes:
            facts = {"value": change.value, "changed_at": change.at, "by_code": who}
            self.db.add(tables.new_change(serving.id, lines[change.line], **facts))
        for given in came.given:
            facts = {"value": given.value, "given_at": given.at}
            self.db.add(tables.new_score(serving.id, lines[given.line], **facts))

    def _marks(self, serving: Serving, came: ReturnedGlass) -> None:
        """Keep the marks of the lead there; what home made of the glass meanwhile counts last."""
        at_home, site = serving.status, self.weighed.pack.site
        rows: list[ServingMark] = []
        for mark in came.marks:
            said = f"at {site}: {plain_note(mark.note)}" if mark.note else f"at {site}"
            row = mark_row(self.db, serving, mark.status, now=mark.at, by=mark.by, note=said)
            if mark.reverses is not None:
                back = MarkReversal(mark_id=row.id, reverses_id=rows[mark.reverses].id)
                self.db.add(back)
            rows.append(row)
        if at_home is not ServingStatus.KEPT and serving.status is not at_home:
            mark_row(self.db, serving, at_home, now=self.now, by=self.by, note="as at home")

    def _calls_and_stops(self) -> None:
        calls = []
        for came in self.weighed.body.calls:
            about = self._standing(came.seat, came.code or "", came.pouring or 0)
            glass = self.here.get(about)
            call = LeadCall(
                session_id=self.session.id,
                person_id=self.weighed.chairs[came.seat].person_id,
                serving_id=glass.id if glass else None,
                reason=came.reason,
                called_at=came.called_at,
                answered_at=came.answered_at or self.now,
            )
            self.db.add(call)
            calls.append(call)
        self.db.flush()
        for stop in self.weighed.body.stops:
            self._stop(stop, None if stop.call is None else calls[stop.call].id)

    def _standing(self, seat: int, code: str, pouring: int) -> Standing:
        """Return the glass that is meant, of a seat that was left out the first of its code."""
        return seat, code, 1 if seat in self.weighed.left_out else pouring

    def _stop(self, came: ReturnedStop, call_id: int | None) -> None:
        """Stop the whole draw here too, under all its codes; one lifted there is only kept."""
        glass = self.here[self._standing(came.seat, came.code, came.pouring)]
        stop = DrawStop(
            serving_id=glass.id,
            call_id=call_id,
            stopped_at=came.stopped_at,
            by_code=came.by,
            note=_plain(came.note),
            lifted_at=came.lifted_at,
            lifted_by=came.lifted_by,
            lifted_because=_plain(came.lifted_because),
        )
        if came.lifted_at is not None:
            self.db.add(stop)
            self.db.flush()
            return
        taken = take_away(self.db, self.session, glass, stop, now=self.now, by=self.by)
        if taken.glasses:
            self.stopped.append(taken)


def _plain(text: str | None) -> str | None:
    return None if text is None else plain_note(text)


def _note_amounts(pack: SitePack, body: ReturnBody) -> None:
    for moved, came in ((Moved.RECEIVED, body.received), (Moved.DESTROYED, body.destroyed)):
        pack.amounts.append(
            PackAmount(
                moved=moved,
                millilitres=came.millilitres,
                abv=pack.session.nosing_abv,
                moved_on=came.on,
                by_code=came.by,
            )
        )


def _told(joining: _Joining, found: str) -> Joined:
    body, pack = joining.weighed.body, joining.weighed.pack
    return Joined(
        session=joining.session.name,
        site=pack.site,
        assessors=tuple(
            chair.person.code
            for seat, chair in joining.weighed.chairs.items()
            if seat not in joining.weighed.left_out
        ),
        glasses=len(joining.weighed.joined),
        finished=sum(glass.finished_at is not None for glass in joining.weighed.joined),
        held_on=body.held_on,
        sent_ml=sent_ml(pack),
        received_ml=body.received.millilitres,
        destroyed_ml=body.destroyed.millilitres,
        destroyed_lpa=lpa(body.destroyed.millilitres, pack.session.nosing_abv),
        return_hash=found,
        site_head=body.site_head_hex,
        notes=tuple(_notes(joining)),
    )


def _notes(joining: _Joining) -> list[str]:
    body, pack = joining.weighed.body, joining.weighed.pack
    said = [draw.sentence() for draw in joining.stopped]
    if body.held_on > pack.nose_by:
        said.append(f"It was nosed on {body.held_on}, later than {pack.nose_by}: samples change.")
    if joining.weighed.without:
        listed = ", ".join(joining.weighed.without)
        said.append(f"Left as scored here, and not joined: {listed}.")
    left = [glass.code for glass in joining.weighed.joined if glass.finished_at is None]
    if left:
        said.append(f"{len(left)} glasses came back unfinished; what was scored is kept.")
    return said
