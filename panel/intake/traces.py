"""Traces as records: saved once a session is revealed, and compared with what is kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Annotated

from pydantic import BeforeValidator
from sqlalchemy import and_, select
from sqlalchemy.orm import Session, aliased

from panel.intake.cells import Name, RowModel, Whole, Within
from panel.intake.columns import Columns
from panel.intake.load import Load, RowOutcome, refuse_twins
from panel.intake.on_trays import KEYED_TWICE, OUT, Trays
from panel.intake.saved_records import Sheet
from panel.kinds import KIND_FACTS, SessionStatus
from panel.store.answers import Answer
from panel.store.booth_tray import LATEST_S, SECONDS_FROM, second_of
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving

COLUMNS = Columns(
    required=("session", "assessor", "glass", "second", "given"),
    optional=("at_s",),
    numbers=frozenset({"second", "given", "at_s"}),
)
HEADINGS = ("session", "assessor", "glass", "second", "given", "at_s")


class TraceRow(RowModel):
    """What was answered at one second of a glass; `at_s` is when it really came."""

    session: Name
    assessor: Name
    glass: Name
    second: Annotated[int, BeforeValidator(Whole(0))]
    given: Annotated[int, BeforeValidator(Whole(0))]
    at_s: Annotated[float | None, BeforeValidator(Within("s", low=0, high=LATEST_S).read)] = None


@dataclass
class _Traced:
    """The rows of one glass, by prompt."""

    session: PanelSession
    assessor: str
    glass: Serving
    rows: dict[int, TraceRow] = field(default_factory=dict)

    def answers(self) -> dict[int, float]:
        """Return what is to be kept, by question: each answer, and the second it came at."""
        given = {number: float(row.given) for number, row in self.rows.items()}
        seconds = {
            second_of(number): float(row.second) if row.at_s is None else row.at_s
            for number, row in self.rows.items()
        }
        return {**given, **seconds}


def take_traces(load: Load, rows: Sequence[TraceRow]) -> None:
    """Compare glasses with what is kept: one that is not kept so is a fault."""
    refuse_twins(
        load,
        rows,
        lambda row: (row.session, row.assessor, row.glass, row.second),
        "second",
        lambda key: f"second {key[3]} of glass {key[2]} of {key[1]} in {key[0]}",
    )
    trays = Trays(load, lambda facts: facts.traced, "no glass of it is traced")
    traced: dict[int, _Traced] = {}
    for row in load.going(rows):
        found = trays.found(row)
        if found is not None:
            session, glass = found
            one = traced.setdefault(glass.id, _Traced(session, row.assessor, glass))
            _place(load, one, row)
    for one in traced.values():
        _settle(load, one)


def _place(load: Load, one: _Traced, row: TraceRow) -> None:
    facts = one.session.kind.facts
    if row.second not in facts.prompts_s:
        words = f"asked for are {', '.join(map(str, facts.prompts_s))} s"
        load.fault(row.at, "second", row.second, words)
    elif row.given > facts.scale.high:
        load.fault(row.at, "given", row.given, f"a key from 0 to {facts.scale.high}")
    else:
        one.rows[facts.prompts_s.index(row.second) + 1] = row


def _settle(load: Load, one: _Traced) -> None:
    """Compare one glass with what is kept of it."""
    if not one.rows:
        return
    asked = select(Answer).where(Answer.serving_id == one.glass.id)
    known = {answer.question: answer.value for answer in load.db.scalars(asked)}
    first = next(iter(one.rows.values()))
    if known == one.answers():
        load.count(RowOutcome.UNCHANGED, len(one.rows))
    else:
        words = "this glass was traced otherwise" if known else "this glass was not traced"
        load.fault(first.at, "given", first.given, f"{words}: {KEYED_TWICE}")


def saved_traces(db: Session) -> Sheet:
    """Return the traces of revealed sessions, second by second."""
    at = aliased(Answer)
    traced = {kind: facts.prompts_s for kind, facts in KIND_FACTS.items() if facts.traced}
    rows = db.execute(
        select(
            *(PanelSession.name, PanelSession.kind, Person.code, Serving.code),
            *(Answer.question, Answer.value, at.value),
        )
        .select_from(Answer)
        .join(Serving, Serving.id == Answer.serving_id)
        .join(PanelSession, PanelSession.id == Serving.session_id)
        .join(Person, Person.id == Serving.person_id)
        .outerjoin(
            at, and_(at.serving_id == Serving.id, at.question == Answer.question + SECONDS_FROM)
        )
        .where(PanelSession.status == SessionStatus.REVEALED, PanelSession.kind.in_(list(traced)))
        .where(Serving.status.not_in(OUT), Answer.question < SECONDS_FROM)
        .order_by(PanelSession.name, Person.code, Serving.flight, Serving.position, Answer.question)
    )
    return Sheet(
        HEADINGS,
        iter(
            [
                (name, who, glass, traced[kind][number - 1], int(value), second)
                for name, kind, who, glass, number, value, second in rows
            ]
        ),
    )
