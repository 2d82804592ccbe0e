"""Answers from paper: the places that glasses were given in their sets, keyed in by code."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Annotated

from pydantic import BeforeValidator
from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.intake.cells import Name, RowModel, Whole
from panel.intake.columns import Columns
from panel.intake.load import Load, RowOutcome, all_names, refuse_twins
from panel.intake.saved_records import Sheet
from panel.kinds import ServingStatus, SessionStatus, Task
from panel.session.sets import sound_places
from panel.store.answers import ONLY_QUESTION, Answer, AnswerChange
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving, SessionAssessor

COLUMNS = Columns(required=("session", "assessor", "glass", "place"), numbers=frozenset({"place"}))
OUT = (ServingStatus.VOID, ServingStatus.RE_POURED)


class AnswerRow(RowModel):
    """The place of one glass in its set: 1 the stronger or the first, 1 and 2 the two groups."""

    session: Name
    assessor: Name
    glass: Name
    place: Annotated[int, BeforeValidator(Whole(1))]


def take_answers(load: Load, rows: Sequence[AnswerRow]) -> None:
    """Keep the answers of sets that are open; a set counts whole or is a fault."""
    refuse_twins(
        load,
        rows,
        lambda row: (row.session, row.assessor, row.glass),
        "glass",
        lambda key: f"glass {key[2]} of {key[1]} in {key[0]}",
    )
    intake = _Intake(load)
    for row in load.going(rows):
        intake.place(row)
    for one in intake.sets.values():
        intake.settle(one)


@dataclass
class _Set:
    """The rows of one set, by glass."""

    session: PanelSession
    assessor: str
    glasses: dict[int, Serving]
    rows: dict[int, AnswerRow] = field(default_factory=dict)


@dataclass
class _Intake:
    load: Load
    sessions: dict[str, PanelSession | None] = field(default_factory=dict)
    trays: dict[tuple[str, str], dict[str, Serving]] = field(default_factory=dict)
    sets: dict[tuple[str, str, int], _Set] = field(default_factory=dict)

    def place(self, row: AnswerRow) -> None:
        """Lay a row to the others of its set."""
        session = self._session(row)
        if session is None:
            return
        tray = self._tray(session, row.assessor)
        if not tray:
            words = f"{row.assessor} has no tray in session {session.name}"
            self.load.fault(row.at, "assessor", row.assessor, words)
            return
        glass = tray.get(row.glass)
        if glass is None:
            words = f"no glass {row.glass} stands on the tray of {row.assessor}"
            self.load.fault(row.at, "glass", row.glass, words)
            return
        key = (session.name, row.assessor, glass.flight)
        if key not in self.sets:
            of_set = {g.id: g for g in tray.values() if g.flight == glass.flight}
            self.sets[key] = _Set(session, row.assessor, of_set)
        self.sets[key].rows[glass.id] = row

    def _session(self, row: AnswerRow) -> PanelSession | None:
        if row.session not in self.sessions:
            asked = select(PanelSession).where(PanelSession.name == row.session)
            self.sessions[row.session] = self.load.db.scalar(asked)
        session = self.sessions[row.session]
        if session is None:
            names = all_names(self.load.db, PanelSession.name)
            self.load.unknown(row.at, "session", row.session, "session", names)
        elif not session.kind.facts.in_sets:
            words = f"this session is {session.kind.facts.scored}: it has no sets to answer"
            self.load.fault(row.at, "session", row.session, words)
            return None
        return session

    def _tray(self, session: PanelSession, assessor: str) -> dict[str, Serving]:
        key = (session.name, assessor)
        if key not in self.trays:
            asked = (
                select(Serving)
                .join(Person, Person.id == Serving.person_id)
                .where(Serving.session_id == session.id, Person.code == assessor)
                .where(Serving.status.not_in(OUT))
                .order_by(Serving.pouring)
            )
            self.trays[key] = {glass.code: glass for glass in self.load.db.scalars(asked)}
        return self.trays[key]

    def settle(self, one: _Set) -> None:
        """Keep one set, or say what is wrong with it."""
        places = {glass: float(row.place) for glass, row in one.rows.items()}
        first = next(iter(one.rows.values()))
        missing = [glass.code for i, glass in one.glasses.items() if i not in one.rows]
        if missing:
            words = f"of the same set {', '.join(sorted(missing))} has no place"
            self.load.fault(first.at, "glass", first.glass, words)
            return
        task = one.session.kind.facts.task
        if task is None or not sound_places(task, sorted(row.place for row in one.rows.values())):
            words = f"these places are no answer to a set: {PLACES_ARE[task or Task.PICK]}"
            self.load.fault(first.at, "place", first.place, words)
            return
        known = {
            answer.serving_id: answer.value
            for answer in self.load.db.scalars(
                select(Answer).where(Answer.serving_id.in_(one.glasses))
            )
        }
        if known == places:
            self.load.count(RowOutcome.UNCHANGED, len(places))
        elif one.session.status is not SessionStatus.OPEN:
            words = f"session {one.session.name} is {one.session.status.value}, not open"
            self.load.fault(first.at, "session", one.session.name, words)
        elif known and not self.load.update:
            words = (
                "this set was answered otherwise: look at the paper again, or load with --update"
            )
            self.load.fault(first.at, "place", first.place, words)
        else:
            self._keep(one, places, known)
            outcome = RowOutcome.CHANGED if known else RowOutcome.NEW
            self.load.count(outcome, len(places))

    def _keep(self, one: _Set, places: dict[int, float], known: dict[int, float]) -> None:
        db, now = self.load.db, self.load.now
        for glass in sorted(one.glasses.values(), key=_at):
            facts = {"serving_id": glass.id, "question": ONLY_QUESTION, "value": places[glass.id]}
            db.add(AnswerChange(**facts, changed_at=now, by_code=self.load.by))
            if glass.id in known:
                kept = db.get(Answer, (glass.id, ONLY_QUESTION))
                if kept is not None:
                    kept.value, kept.given_at = places[glass.id], now
            else:
                db.add(Answer(**facts, given_at=now))
            if glass.taken_at is None:
                taken = [g.taken_order or 0 for g in self._tray(one.session, one.assessor).values()]
                glass.taken_at, glass.taken_order = now, max(taken) + 1
            glass.finished_at = now
        self._finish(one)

    def _finish(self, one: _Set) -> None:
        tray = self._tray(one.session, one.assessor)
        if all(glass.finished_at is not None for glass in tray.values()):
            person = next(iter(one.glasses.values())).person_id
            chair = self.load.db.get(SessionAssessor, (one.session.id, person))
            if chair is not None:
                chair.finished_at = self.load.now


PLACES_ARE = {
    Task.PICK: "1 for the stronger, 2 for the other",
    Task.SORT: "1 twice and 2 twice",
    Task.RANK: "1 for the first, equal places shared, as 1, 2, 2, 4",
}


def _at(glass: Serving) -> int:
    return glass.position or 0


def saved_answers(db: Session) -> Sheet:
    """Return the answers of revealed sessions, glass by glass."""
    rows = db.execute(
        select(PanelSession.name, Person.code, Serving.code, Answer.value)
        .select_from(Answer)
        .join(Serving, Serving.id == Answer.serving_id)
        .join(PanelSession, PanelSession.id == Serving.session_id)
        .join(Person, Person.id == Serving.person_id)
        .where(PanelSession.status == SessionStatus.REVEALED)
        .where(Serving.status.not_in(OUT))
        .order_by(PanelSession.name, Person.code, Serving.flight, Serving.position)
    )
    return Sheet(
        ("session", "assessor", "glass", "place"),
        iter([(name, who, glass, int(value)) for name, who, glass, value in rows]),
    )
