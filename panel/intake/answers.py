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
from panel.intake.load import Load, RowOutcome, refuse_twins
from panel.intake.on_trays import OUT, Trays
from panel.intake.saved_records import Sheet
from panel.kinds import KIND_FACTS, SessionStatus, Task
from panel.session.sets import sound_places
from panel.store.answers import ONLY_QUESTION, Answer, AnswerChange
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving

COLUMNS = Columns(required=("session", "assessor", "glass", "place"), numbers=frozenset({"place"}))


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
    intake = _Intake(load, Trays(load, lambda facts: facts.in_sets, "it has no sets to answer"))
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
    trays: Trays
    sets: dict[tuple[str, str, int], _Set] = field(default_factory=dict)

    def place(self, row: AnswerRow) -> None:
        """Lay a row to the others of its set."""
        found = self.trays.found(row)
        if found is None:
            return
        session, glass = found
        key = (session.name, row.assessor, glass.flight)
        if key not in self.sets:
            tray = self.trays.tray(session, row.assessor)
            of_set = {g.id: g for g in tray.values() if g.flight == glass.flight}
            self.sets[key] = _Set(session, row.assessor, of_set)
        self.sets[key].rows[glass.id] = row

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
            self.trays.put_down(one.session, one.assessor, glass)
        self.trays.finish(one.session, one.assessor)


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
        .where(PanelSession.kind.in_([kind for kind, facts in KIND_FACTS.items() if facts.in_sets]))
        .where(Serving.status.not_in(OUT))
        .order_by(PanelSession.name, Person.code, Serving.flight, Serving.position)
    )
    return Sheet(
        ("session", "assessor", "glass", "place"),
        iter([(name, who, glass, int(value)) for name, who, glass, value in rows]),
    )
