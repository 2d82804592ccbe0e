"""What came after a session was opened again: by then its scores could be read.

The log is the record of it: a session keeps no moment of a reopening. While it is closed and
somebody has glasses left, its scores are for a lead only (`left_unfinished`); what was read before
all the same stays known, so what was scored later is told apart wherever it is told.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, TypeAlias

from sqlalchemy import Select, select

from panel.figures import count
from panel.kinds import SessionStatus
from panel.session.progress import session_progress
from panel.store.booth_lines import tables_of
from panel.store.finding import find_session
from panel.store.line_tables import LineTables
from panel.store.log import entries_about
from panel.store.people import Person
from panel.store.sessions import FaultMark, PanelSession, Serving, ServingMark

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

REOPENED = "session reopened"
MARKED, TAKEN_OFF = "fault marked", "fault mark taken off"
STAYS_KNOWN = (
    "What anybody read of it while it was closed stays known to them: agreement, show, reveal and "
    "report tell how many scores come from now on, and by whom."
)
Touched: TypeAlias = tuple[str, int, int]
"""A kind of line, a glass, the number of the line."""


@dataclass(frozen=True)
class AfterReopening:
    """What came after a session was first opened again, and by whom.

    Attributes
    ----------
    n_scores
        Scores given, changed or taken back: lines of glasses, each once.
    n_glasses
        Glasses with such a score, or put down after it.
    assessors
        Whose glasses those are, and who set a mark of a fault or took one off.
    n_taken_back
        Those of the scores that are blank now.
    n_marked
        Glasses that the lead marked before the reveal.
    n_faults
        Marks of a fault that were set, and stand; one taken off again is not among them.
    n_faults_off
        Marks of a fault that stood as it was opened again, and do no more.
    """

    reopened_at: datetime
    n_scores: int
    n_glasses: int
    assessors: tuple[str, ...]
    n_taken_back: int = 0
    n_marked: int = 0
    n_faults: int = 0
    n_faults_off: int = 0

    def words(self, *, named: bool = True) -> str:
        """Return it in sentences; where nobody may be named, with the number of people."""
        who = ", ".join(self.assessors) if named else count(len(self.assessors), "person", "people")
        if self.n_glasses:
            first = (
                "It was closed and opened again, and by then its scores could be read. After that "
                f"{who} went on with {count(self.n_glasses, 'glass', 'glasses')}; scores given, "
                f"changed or taken back: {self.n_scores}."
            )
        else:
            first = (
                "It was closed and opened again; no score was given, changed or taken back after "
                "that."
            )
        return " ".join([first, *self._marks(who)])

    def _marks(self, who: str) -> Iterator[str]:
        by = "" if self.n_glasses else f", by {who}"
        if self.n_faults:
            yield f"Marks of a fault set after that: {self.n_faults}{by}."
        if self.n_faults_off:
            yield f"Marks of a fault taken off after that: {self.n_faults_off}{by}."
        if self.n_marked:
            yield f"Glasses marked by the lead after that: {self.n_marked}."


def after_reopening(db: Session, name: str) -> AfterReopening | None:
    """Return what came after a session was first opened again; None where it never was.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    session = find_session(db, name)
    at = _first_reopened(db, session)
    if at is None:
        return None
    touched: set[Touched] = set()
    taken_back: set[Touched] = set()
    for tables in tables_of(session).parts:
        given = _given_after(db, tables, session, at)
        blank = _taken_back_after(db, tables, session, at)
        taken_back |= blank
        touched |= given | blank
    finished = select(Serving.id).where(Serving.session_id == session.id, Serving.finished_at > at)
    glasses = {glass for _, glass, _ in touched} | set(db.scalars(finished))
    faults = list(db.scalars(_of(session, FaultMark).where(FaultMark.marked_at > at)))
    marks = _of(session, ServingMark).where(ServingMark.marked_at > at)
    if session.revealed_at is not None:  # later ones are told apart as such
        marks = marks.where(ServingMark.marked_at <= session.revealed_at)
    marked = set(db.scalars(marks))
    off = _faults_off(db, session, at)
    return AfterReopening(
        reopened_at=at,
        n_scores=len(touched),
        n_glasses=len(glasses),
        assessors=tuple(sorted({*_whose(db, glasses | set(faults)), *off})),
        n_taken_back=len(taken_back),
        n_marked=len(marked),
        n_faults=len(faults),
        n_faults_off=len(off),
    )


def reopened_lines(db: Session, names: Sequence[str]) -> tuple[str, ...]:
    """Return in words what came after each of some sessions that were opened again."""
    return late_lines({name: after_reopening(db, name) for name in names})


def late_lines(late: Mapping[str, AfterReopening | None]) -> tuple[str, ...]:
    """Return the same of what is known already, by session."""
    told = ((name, found.words()) for name, found in late.items() if found is not None)
    return tuple(f"{name}: {words}" if len(late) > 1 else words for name, words in told)


def left_unfinished(db: Session, names: Iterable[str]) -> tuple[str, ...]:
    """Return those of some sessions that are closed, not revealed, and not finished by all."""
    return tuple(
        name
        for name in names
        if find_session(db, name).status is SessionStatus.CLOSED
        and session_progress(db, name).unfinished
    )


def _first_reopened(db: Session, session: PanelSession) -> datetime | None:
    if session.opened_at is None:
        return None
    during = {"since": session.opened_at, "until": session.revealed_at}
    found = entries_about(db, (REOPENED,), session.name, **during)
    return next((at for at, _ in found), None)


def _of(session: PanelSession, mark: type[FaultMark | ServingMark]) -> Select[int]:
    """Ask for the glasses of a session that have a mark, once for each."""
    joined = select(Serving.id).join(mark, mark.serving_id == Serving.id)
    return joined.where(Serving.session_id == session.id)


def _faults_off(db: Session, session: PanelSession, at: datetime) -> list[str]:
    """Return who took off each mark of a fault that stood at a moment; out of the log.

    A code may stand on several trays: a mark is that of who set it.
    """
    stood: dict[tuple[object, ...], str | None] = {}
    for when, told in entries_about(db, (MARKED, TAKEN_OFF), session.name):
        mark = (told["by"], told.get("glass"), told.get("pouring"), told.get("fault"))
        if when <= at:
            stood[mark] = None
            if told["action"] == TAKEN_OFF:
                del stood[mark]
        elif mark in stood:
            stood[mark] = told["by"] if told["action"] == TAKEN_OFF else None
    return [by for by in stood.values() if by is not None]


def _given_after(
    db: Session, tables: LineTables, session: PanelSession, at: datetime
) -> set[Touched]:
    score = tables.score
    asked = select(Serving.id, tables.line_of_score).join(score, score.serving_id == Serving.id)
    found = asked.where(Serving.session_id == session.id, tables.is_score, score.given_at > at)
    return {(tables.line, glass, line) for glass, line in db.execute(found)}


def _taken_back_after(
    db: Session, tables: LineTables, session: PanelSession, at: datetime
) -> set[Touched]:
    """Return the lines that were cleared later and are blank; a blank cleared again is nothing."""
    change, score = tables.change, tables.score
    asked = select(Serving.id, tables.line_of_change).join(change, change.serving_id == Serving.id)
    its = asked.where(Serving.session_id == session.id, tables.is_change_of_score)
    later = {(glass, line) for glass, line in db.execute(its.where(change.changed_at > at))}
    if not later:
        return set()
    ever = {(glass, line) for glass, line in db.execute(its.where(change.value.is_not(None)))}
    kept = select(score.serving_id, tables.line_of_score).where(
        score.serving_id.in_({glass for glass, _ in later})
    )
    given = {(glass, line) for glass, line in db.execute(kept)}
    return {(tables.line, glass, line) for glass, line in (later & ever) - given}


def _whose(db: Session, glasses: set[int]) -> tuple[str, ...]:
    whose = select(Person.code).join(Serving, Serving.person_id == Person.id)
    return tuple(db.scalars(whose.where(Serving.id.in_(glasses)).distinct().order_by(Person.code)))
