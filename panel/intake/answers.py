"""Answers of sets as records: saved once a session is revealed, and compared with what is kept.

Nothing is answered by loading: a ballot comes in by one door, where it is keyed twice
(`panel.session.keyed`).
"""

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
from panel.intake.on_trays import KEYED_TWICE, OUT, Trays
from panel.intake.saved_records import Sheet
from panel.kinds import KIND_FACTS, SessionStatus
from panel.store.answers import Answer
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
    """Compare sets with what is kept: one that is not kept so is a fault."""
    refuse_twins(
        load,
        rows,
        lambda row: (row.session, row.assessor, row.glass),
        "glass",
        lambda key: f"glass {key[2]} of {key[1]} in {key[0]}",
    )
    trays = Trays(load, lambda facts: facts.in_sets, "it has no sets to answer")
    intake = _Intake(load, trays)
    for row in load.going(rows):
        intake.place(row)
    for one in intake.sets.values():
        intake.settle(one)


@dataclass
class _Set:
    """The rows of one set, by glass."""

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
            self.sets[key] = _Set({g.id: g for g in tray.values() if g.flight == glass.flight})
        self.sets[key].rows[glass.id] = row

    def settle(self, one: _Set) -> None:
        """Compare one set with what is kept of it."""
        places = {glass: float(row.place) for glass, row in one.rows.items()}
        first = next(iter(one.rows.values()))
        missing = [glass.code for i, glass in one.glasses.items() if i not in one.rows]
        asked = select(Answer).where(Answer.serving_id.in_(one.glasses))
        known = {each.serving_id: each.value for each in self.load.db.scalars(asked)}
        if missing:
            words = f"of the same set {', '.join(sorted(missing))} has no place"
            self.load.fault(first.at, "glass", first.glass, words)
        elif known == places:
            self.load.count(RowOutcome.UNCHANGED, len(places))
        else:
            words = "this set was answered otherwise" if known else "this set has no answer"
            self.load.fault(first.at, "place", first.place, f"{words}: {KEYED_TWICE}")


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
