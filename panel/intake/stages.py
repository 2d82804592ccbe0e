"""Notes by stages as records: saved once a session is revealed, and compared with what is kept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Annotated

from pydantic import BeforeValidator
from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.intake.cells import Name, RowModel, Within
from panel.intake.columns import Columns
from panel.intake.load import Load, RowOutcome, refuse_twins
from panel.intake.on_trays import KEYED_TWICE, OUT, Trays
from panel.intake.saved_records import Sheet
from panel.kinds import KIND_FACTS, SessionStatus, Stage
from panel.store.line_tables import BY_STAGE
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving
from panel.store.stage_lines import stage_lines

COLUMNS = Columns(
    required=("session", "assessor", "glass", "descriptor", "stage", "score"),
    numbers=frozenset({"score"}),
)
HEADINGS = COLUMNS.required


class StageRow(RowModel):
    """What a note was given at one stage of a glass."""

    session: Name
    assessor: Name
    glass: Name
    descriptor: Name
    stage: Stage
    score: Annotated[float, BeforeValidator(Within("points", low=0, high=100).read)]


@dataclass
class _Scored:
    """The rows of one glass by the number of their line."""

    serving_id: int
    rows: dict[int, StageRow] = field(default_factory=dict)


def take_stages(load: Load, rows: Sequence[StageRow]) -> None:
    """Compare glasses with what is kept: a score that is not kept so is a fault."""
    refuse_twins(
        load,
        rows,
        lambda row: (row.session, row.assessor, row.glass, row.descriptor, row.stage),
        "stage",
        lambda key: f"{key[3]}, {key[4]} of glass {key[2]} of {key[1]} in {key[0]}",
    )
    trays = Trays(load, lambda facts: facts.staged, "no note of it is scored by stages")
    scored: dict[int, _Scored] = {}
    for row in load.going(rows):
        if found := trays.found(row):
            session, glass = found
            number = numbers_of(session).get((row.descriptor, row.stage))
            if number is None:
                words = "this descriptor is not scored by stages in it"
                load.fault(row.at, "descriptor", row.descriptor, words)
            else:
                scored.setdefault(glass.id, _Scored(glass.id)).rows[number] = row
    for one in scored.values():
        _settle(load, one)


def numbers_of(session: PanelSession) -> Mapping[tuple[str, Stage], int]:
    """Return the number of each line by stages, by note and stage."""
    return {
        (line.row.descriptor_version.descriptor.name, line.stage): line.number
        for line in stage_lines(session.descriptors)
        if line.staged
    }


def _settle(load: Load, one: _Scored) -> None:
    """Compare one glass with what is kept of it."""
    known = {line: score.value for _, line, score in BY_STAGE.given(load.db, [one.serving_id])}
    if all(known.get(number) == row.score for number, row in one.rows.items()):
        load.count(RowOutcome.UNCHANGED, len(one.rows))
        return
    first = next(iter(one.rows.values()))
    words = f"this glass was scored otherwise, or not at all: {KEYED_TWICE}"
    load.fault(first.at, "score", first.score, words)


def saved_stages(db: Session) -> Sheet:
    """Return what revealed sessions were given by stages, stage by stage."""
    staged = [kind for kind, facts in KIND_FACTS.items() if facts.staged]
    sessions = select(PanelSession).where(
        PanelSession.status == SessionStatus.REVEALED, PanelSession.kind.in_(staged)
    )
    rows = [
        row for one in db.scalars(sessions.order_by(PanelSession.name)) for row in _rows(db, one)
    ]
    return Sheet(HEADINGS, iter(rows))


def _rows(db: Session, session: PanelSession) -> Iterator[tuple[object, ...]]:
    glasses = db.execute(
        select(Serving.id, Person.code, Serving.code)
        .join(Person, Person.id == Serving.person_id)
        .where(Serving.session_id == session.id, Serving.status.not_in(OUT))
        .order_by(Person.code, Serving.flight, Serving.position)
    ).all()
    given = {
        (glass, line): score.value
        for glass, line, score in BY_STAGE.given(db, [glass for glass, *_ in glasses])
    }
    lines = numbers_of(session)
    for glass, who, code in glasses:
        for (note, stage), line in lines.items():
            if (glass, line) in given:
                yield session.name, who, code, note, stage.value, given[glass, line]
