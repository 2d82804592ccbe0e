"""How far a session is, by codes only: nothing here tells what a code is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from panel.kinds import GlassState, ServingStatus, SessionStatus
from panel.session.held_as import SeatLines
from panel.session.kinds import HELD
from panel.store.booth_lines import tables_of
from panel.store.finding import find_session
from panel.store.people import Person
from panel.store.sessions import (
    FaultMark,
    LeadCall,
    PanelSession,
    Serving,
    SessionAssessor,
    code_read,
)
from panel.store.stops import stopped_in

COUNTING = (
    *(GlassState.WAITING, GlassState.IN_HAND, GlassState.DONE),
    GlassState.SWAP_SUSPECTED,
)
"""States of a glass that is somebody's to score; void ones and those poured again are not."""


@dataclass(frozen=True)
class GlassProgress:
    """One glass."""

    flight: int
    position: int | None
    code: str
    pouring: int
    warm_up: bool
    state: GlassState
    n_scored: int
    n_lines: int
    finished: bool = False
    read_as: str | None = None
    """The other code, where two glasses had changed places and this one is read as that."""


@dataclass(frozen=True)
class SeatProgress:
    """One assessor's tray in its order; glasses poured again stand beside the first ones."""

    assessor: str
    seat: int
    glasses: tuple[GlassProgress, ...]
    finished: bool
    not_at_best: bool
    knew_key: bool
    n_words: int | None = None
    """How many own words, None where the lexicon is scored. Which ones is nobody's business yet."""
    scored_at: datetime | None = None
    """When a score was last kept from this seat."""

    json_keys = (
        *("assessor", "seat", "glasses", "finished", ("untold", "not_at_best")),
        *(("untold_reason", "not_at_best_reason"), "knew_key", "n_words"),
    )
    untold = None
    untold_reason = (
        "close to health: `oakpanel people export CODE --private` gives it to the person"
    )

    @property
    def n_done(self) -> int:
        """How many glasses are finished."""
        return sum(glass.finished and glass.state in COUNTING for glass in self.glasses)

    @property
    def n_to_score(self) -> int:
        """How many glasses count, finished or not."""
        return sum(glass.state in COUNTING for glass in self.glasses)


@dataclass(frozen=True)
class CallLine:
    """A call that waits for the lead."""

    id: int
    assessor: str
    code: str | None
    reason: str
    called_at: datetime


@dataclass(frozen=True)
class FaultLine:
    """How many assessors marked a fault on the glass of a code."""

    code: str
    fault: str
    n_assessors: int


@dataclass(frozen=True)
class SessionProgress:
    """A session as it stands now."""

    session: str
    status: str
    blind: bool
    seats: tuple[SeatProgress, ...]
    calls: tuple[CallLine, ...]
    faults: tuple[FaultLine, ...]

    @property
    def unfinished(self) -> tuple[str, ...]:
        """Who has glasses left; not who only did not sign off."""
        return tuple(s.assessor for s in self.seats if not s.finished and s.n_done < s.n_to_score)

    @property
    def suspected(self) -> tuple[tuple[str, str], ...]:
        """Assessor and code of each glass whose suspected swap nobody cleared up."""
        return tuple(
            (seat.assessor, glass.code)
            for seat in self.seats
            for glass in seat.glasses
            if glass.state is GlassState.SWAP_SUSPECTED
        )

    def suspected_words(self) -> str | None:
        """Return which suspected swaps are still to be cleared up, if any are."""
        if not self.suspected:
            return None
        named = ", ".join(f"{code} of {assessor}" for assessor, code in self.suspected)
        return f"A swap is suspected of {named}: what is not cleared before the reveal stays out."


def session_progress(db: Session, name: str) -> SessionProgress:
    """Return assessor by glass, open calls and fault marks, in codes.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    session = find_session(db, name)
    return SessionProgress(
        session=session.name,
        status=session.status.value,
        blind=session.blind,
        seats=tuple(_seats(db, session)),
        calls=open_calls(db, session),
        faults=_fault_lines(db, session),
    )


def _seats(db: Session, session: PanelSession) -> list[SeatProgress]:
    trays: dict[int, list[Serving]] = {seat.person_id: [] for seat in session.assessors}
    ordered = (Serving.flight, Serving.position, Serving.code, Serving.pouring)
    for glass in db.scalars(
        select(Serving).where(Serving.session_id == session.id).order_by(*ordered)
    ):
        trays[glass.person_id].append(glass)
    scored, lines = _scored(db, session), HELD[session.kind].seat_lines(db, session)
    last = _last_scored(db, session)
    stopped = stopped_in(db, session.id) if session.status is SessionStatus.OPEN else frozenset()
    found = [
        _seat(
            *(seat, trays[seat.person_id], scored, lines[seat.person_id], stopped),
            loaded=session.loaded,
        )
        for seat in session.assessors
    ]
    return [
        replace(each, scored_at=last.get(seat.person_id))
        for each, seat in zip(found, session.assessors, strict=True)
    ]


def _last_scored(db: Session, session: PanelSession) -> Mapping[int, datetime]:
    """Return when each person's last score was kept: asked only while it is scored."""
    if session.status is not SessionStatus.OPEN:
        return {}
    found: dict[int, datetime] = {}
    for tables in tables_of(session).parts:
        score = tables.score
        last = (
            select(Serving.person_id, func.max(score.given_at))
            .join(score, score.serving_id == Serving.id)
            .where(Serving.session_id == session.id)
            .group_by(Serving.person_id)
        )
        for person_id, at in db.execute(last):
            found[person_id] = max(at, found.get(person_id, at))
    return found


def _scored(db: Session, session: PanelSession) -> Mapping[int, int]:
    found: Counter[int] = Counter()
    for tables in tables_of(session).parts:
        score = tables.score
        counted = (
            select(score.serving_id, func.count())
            .join(Serving, Serving.id == score.serving_id)
            .where(Serving.session_id == session.id, tables.is_score)
            .group_by(score.serving_id)
        )
        found.update({serving_id: count for serving_id, count in db.execute(counted)})
    return found


def _seat(
    seat: SessionAssessor,
    tray: Sequence[Serving],
    scored: Mapping[int, int],
    lines: SeatLines,
    stopped: Collection[int],
    *,
    loaded: bool,
) -> SeatProgress:
    return SeatProgress(
        assessor=seat.person.code,
        seat=seat.seat,
        glasses=tuple(
            _glass(
                *(glass, scored.get(glass.id, 0), lines.n_lines),
                loaded=loaded,
                stopped=glass.id in stopped,
            )
            for glass in tray
        ),
        finished=seat.finished_at is not None,
        not_at_best=seat.not_at_best,
        knew_key=seat.knew_key,
        n_words=lines.n_words,
    )


def _glass(
    glass: Serving, n_scored: int, n_lines: int, *, loaded: bool, stopped: bool
) -> GlassProgress:
    # A session from a file was scored elsewhere: it knows no moment at which a glass was finished.
    finished = loaded or glass.finished_at is not None
    return GlassProgress(
        flight=glass.flight,
        position=glass.position,
        code=glass.code,
        pouring=glass.pouring,
        warm_up=glass.warm_up,
        state=_state(glass, finished=finished, stopped=stopped),
        n_scored=n_scored,
        n_lines=n_lines,
        finished=finished,
        read_as=glass.read_as,
    )


def _state(glass: Serving, *, finished: bool, stopped: bool) -> GlassState:
    if stopped and glass.status is not ServingStatus.RE_POURED:
        return GlassState.VOID  # called as not safe: marked so once the lead has seen to it
    if glass.status is not ServingStatus.KEPT:
        return GlassState(glass.status.value)
    if finished:
        return GlassState.DONE
    return GlassState.WAITING if glass.taken_at is None else GlassState.IN_HAND


def open_calls(db: Session, session: PanelSession) -> tuple[CallLine, ...]:
    """Return the calls that nobody has answered, oldest first."""
    waiting = (
        select(LeadCall, Person.code, Serving.code)
        .join(Person, Person.id == LeadCall.person_id)
        .outerjoin(Serving, Serving.id == LeadCall.serving_id)
        .where(LeadCall.session_id == session.id, LeadCall.answered_at.is_(None))
        .order_by(LeadCall.called_at, LeadCall.id)
    )
    return tuple(
        CallLine(call.id, assessor, code, call.reason.value, call.called_at)
        for call, assessor, code in db.execute(waiting)
    )


def _fault_lines(db: Session, session: PanelSession) -> tuple[FaultLine, ...]:
    marks = (
        select(code_read(), FaultMark.fault, Serving.person_id)
        .join(FaultMark, FaultMark.serving_id == Serving.id)
        .where(Serving.session_id == session.id)
        .distinct()
    )
    counted = Counter((code, fault.value) for code, fault, _ in db.execute(marks))
    return tuple(FaultLine(code, fault, n) for (code, fault), n in sorted(counted.items()))
