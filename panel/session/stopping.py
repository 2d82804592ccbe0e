"""A draw that is not safe to nose or taste: stopped for every seat at once, under all its codes.

Safety comes before blindness. Codes that are stopped together stand for the same draw, and whoever
has two of them may know; what the draw is stays in the key. A call from a booth stops from the
moment it is kept (`panel.store.stopped_view`); here its glasses are marked void, once a lead sees
to it or the session is closed. Only a lead lifts a stop, and says why.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Select, select
from sqlalchemy.orm import Session

from panel.errors import SessionError
from panel.kinds import KEY_IS_SECRET, STOPS, ServingStatus
from panel.session.found import session_at
from panel.session.marks import mark_row, standing_glass, status_before
from panel.store.key import KeyRow, behind_serving
from panel.store.log import append_entry
from panel.store.people import Person
from panel.store.sessions import LeadCall, PanelSession, Serving, ServingMark
from panel.store.site_packs import away_packs, pack_it_came_in
from panel.store.stops import DrawStop, StoppedMark

STANDS = (ServingStatus.KEPT, ServingStatus.SWAP_SUSPECTED)
"""Marks of a glass that somebody may still have in hand, or yet take."""
OVER = "Once it is revealed nobody noses any more: put the cask on hold at the desk."
NOT_SAFE, SAFE_AGAIN = "not safe", "safe again"


@dataclass(frozen=True)
class StoppedGlass:
    """A glass that was taken from its tray."""

    assessor: str
    code: str


@dataclass(frozen=True)
class StoppedDraw:
    """Where a draw was stopped; what it is stays in the key."""

    session: str
    pouring: int
    """Of the glass that was named."""
    glasses: tuple[StoppedGlass, ...]
    ask_home: bool = False
    """Whether it came in a pack, so that only home knows what else holds the same spirit."""
    sites: tuple[str, ...] = ()
    """Other sites that seats of the session are away at, to be told at once."""

    @property
    def codes(self) -> tuple[str, ...]:
        """Under which codes it stood."""
        return tuple(sorted({glass.code for glass in self.glasses}))

    @property
    def trays(self) -> str:
        """From how many trays it was taken, in words."""
        count = len({glass.assessor for glass in self.glasses})
        return "1 tray" if count == 1 else f"{count} trays"

    def sentence(self) -> str:
        """Say which codes nobody noses any more, and what to do in the room."""
        return (
            f"Not safe: {', '.join(self.codes)} stopped on {self.trays}. Say so aloud, take every "
            "one of these glasses away, and keep the bottle apart until it is known what is in it."
            f"{self._whom_to_tell()}"
        )

    def _whom_to_tell(self) -> str:
        if self.ask_home:
            return (
                " Ask home before anybody noses on: the same spirit may stand here under another "
                "code, and only home knows which; stop those too."
            )
        return f" Tell {' and '.join(self.sites)} at once, by these codes." if self.sites else ""

    def lifted_sentence(self) -> str:
        """Say which codes are to be nosed again."""
        return f"Safe again: {', '.join(self.codes)} on {self.trays}. Tell the room."


def stop_draw(
    db: Session,
    session: str,
    assessor: str,
    code: str,
    *,
    now: datetime,
    by: str,
    note: str | None = None,
) -> StoppedDraw:
    """Make every glass of the draw behind one glass void, on all trays of the session.

    Scores are kept and left out, as of any void glass; `lift_stop` brings all of them back.

    Raises
    ------
    UnknownRecord, WrongState
        No such session before its reveal, assessor or glass.
    SessionError
        Nothing of the draw stands on a tray any more.
    """
    held = session_at(db, session, *KEY_IS_SECRET, deed="stopping a draw", too_late=OVER)
    glass = standing_glass(db, held, assessor, code)
    stop = DrawStop(serving_id=glass.id, stopped_at=now, by_code=by, note=note or None)
    stopped = take_away(db, held, glass, stop, now=now, by=by)
    if not stopped.glasses:
        raise SessionError(f"Glass {code} of {assessor} and all of its draw are void already.")
    details = {"session": held.name, "assessor": assessor, "code": code}
    append_entry(db, at=now, by=by, action=STOPPED, details={**details, "glasses": pairs(stopped)})
    return stopped


STOPPED, LIFTED = "draw stopped as not safe", "stop of a draw lifted"


def pairs(*stopped: StoppedDraw) -> list[list[str]]:
    """Return the glasses as the log tells them: whose, and under which code."""
    return [[each.assessor, each.code] for draw in stopped for each in draw.glasses]


def settle_calls(
    db: Session, held: PanelSession, *, now: datetime, by: str
) -> tuple[StoppedDraw, ...]:
    """Mark void what calls from booths have stopped; the entry in the log is the caller's."""
    asked = (
        select(LeadCall, Serving, Person.code)
        .join(Serving, Serving.id == LeadCall.serving_id)
        .join(Person, Person.id == LeadCall.person_id)
        .outerjoin(DrawStop, DrawStop.call_id == LeadCall.id)
        .where(LeadCall.session_id == held.id, LeadCall.reason == STOPS, DrawStop.id.is_(None))
    )
    stopped = []
    for call, glass, who in db.execute(asked.order_by(LeadCall.id)).all():
        stop = DrawStop(
            serving_id=glass.id, call_id=call.id, stopped_at=call.called_at, by_code=who
        )
        stopped.append(take_away(db, held, glass, stop, now=now, by=by))
    return tuple(each for each in stopped if each.glasses)


def take_away(
    db: Session, held: PanelSession, glass: Serving, stop: DrawStop, *, now: datetime, by: str
) -> StoppedDraw:
    """Keep a stop and mark every glass of its draw void; the entry in the log is the caller's."""
    db.add(stop)
    db.flush()
    found = _standing(db, held, _draw_of(db, glass))
    for each, _ in found:
        mark = mark_row(db, each, ServingStatus.VOID, now=now, by=by, note=stop.note or NOT_SAFE)
        db.add(StoppedMark(mark_id=mark.id, stop_id=stop.id))
    taken = tuple(StoppedGlass(who, each.code) for each, who in found)
    return StoppedDraw(
        *(held.name, glass.pouring, taken),
        ask_home=pack_it_came_in(db, held.id) is not None,
        sites=tuple(sorted({pack.site for pack in away_packs(db, held.id)})),
    )


def lift_stop(
    db: Session, session: str, assessor: str, code: str, *, now: datetime, by: str, reason: str
) -> StoppedDraw:
    """Bring back every glass of a draw that was stopped, as it stood before; say why.

    Raises
    ------
    UnknownRecord, WrongState
        No such session before its reveal, assessor or glass.
    SessionError
        No reason was given, or the draw is not stopped.
    """
    if not reason.strip():
        raise SessionError("Say why it is safe again: the reason is kept with the stop (--note).")
    held = session_at(db, session, *KEY_IS_SECRET, deed="lifting a stop", too_late=OVER)
    settle_calls(db, held, now=now, by=by)
    glass = standing_glass(db, held, assessor, code)
    stops = _stops_of(db, held, _draw_of(db, glass))
    if not stops:
        raise SessionError(f"Glass {code} of {assessor} is not stopped as not safe.")
    for stop in stops:
        stop.lifted_at, stop.lifted_by, stop.lifted_because = now, by, reason.strip()
    back = tuple(_bring_back(db, stops, now=now, by=by))
    lifted = StoppedDraw(held.name, glass.pouring, back)
    details = {"session": held.name, "assessor": assessor, "code": code, "reason": reason.strip()}
    append_entry(db, at=now, by=by, action=LIFTED, details={**details, "glasses": pairs(lifted)})
    return lifted


def _bring_back(
    db: Session, stops: list[DrawStop], *, now: datetime, by: str
) -> list[StoppedGlass]:
    asked = (
        select(ServingMark, Serving, Person.code)
        .join(StoppedMark, StoppedMark.mark_id == ServingMark.id)
        .join(Serving, Serving.id == ServingMark.serving_id)
        .join(Person, Person.id == Serving.person_id)
        .where(StoppedMark.stop_id.in_([stop.id for stop in stops]))
        .where(Serving.status == ServingStatus.VOID)
    )
    found = db.execute(asked.order_by(Person.code, Serving.id)).all()
    for mark, glass, _ in found:
        mark_row(db, glass, status_before(db, mark), now=now, by=by, note=SAFE_AGAIN)
    return [StoppedGlass(who, glass.code) for _, glass, who in found]


def _draw_of(db: Session, glass: Serving) -> int:
    behind = select(KeyRow.draw_id).select_from(Serving).join(Serving.person)
    return db.scalars(behind.join(KeyRow, behind_serving()).where(Serving.id == glass.id)).one()


def _stops_of(db: Session, held: PanelSession, draw: int) -> list[DrawStop]:
    """Return the stops of a draw that stand."""
    asked = (
        select(DrawStop)
        .join(Serving, Serving.id == DrawStop.serving_id)
        .join(Person, Person.id == Serving.person_id)
        .join(KeyRow, behind_serving())
        .where(Serving.session_id == held.id, KeyRow.draw_id == draw)
        .where(DrawStop.lifted_at.is_(None))
    )
    return list(db.scalars(asked.order_by(DrawStop.id)))


def _drawn() -> Select[Serving, str]:
    """Return the question for glasses, whose they are, and their rows of the key."""
    asked = select(Serving, Person.code).join(Person, Person.id == Serving.person_id)
    return asked.join(KeyRow, behind_serving())


def _standing(db: Session, held: PanelSession, draw: int) -> list[tuple[Serving, str]]:
    """Return the glasses of a draw that somebody may nose, seat by seat."""
    asked = _drawn().where(
        Serving.session_id == held.id, KeyRow.draw_id == draw, Serving.status.in_(STANDS)
    )
    found = db.execute(asked.order_by(Person.code, Serving.id))
    return [(glass, who) for glass, who in found]
