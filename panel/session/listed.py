"""The sessions of the house as a list: how many people, glasses and scores each has."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from panel.kinds import USUAL_KIND, SessionKind
from panel.store.booth_lines import all_line_tables
from panel.store.sessions import PanelSession, Serving, SessionAssessor, SessionDescriptor


@dataclass(frozen=True)
class SessionLine:
    """One session in the list."""

    name: str
    held_on: date | None
    status: str
    manner: str
    n_assessors: int
    n_descriptors: int
    n_glasses: int
    n_scores: int
    loaded: bool
    rehearsal: bool
    blind: bool
    kind: SessionKind = USUAL_KIND
    n_finished: int = 0
    """Glasses that were put down."""

    json_keys = (
        *("name", "held_on", "status", "manner", "n_assessors", "n_descriptors", "n_glasses"),
        *("n_scores", "loaded", "rehearsal", "blind", "own_words"),
    )

    @property
    def own_words(self) -> bool:
        """Whether each assessor scores lines of their own."""
        return self.kind.facts.own_lines

    @property
    def n_kept(self) -> int:
        """What was said so far: scores and answers, or glasses passed and held."""
        return self.n_finished if self.kind.facts.passes else self.n_scores

    def remarks(self) -> str:
        """Return what is unusual about the session, if anything."""
        marks = {
            self.kind.facts.remark: bool(self.kind.facts.remark),
            "loaded": self.loaded,
            "rehearsal": self.rehearsal,
            "not blind": not self.blind,
        }
        return ", ".join(word for word, holds in marks.items() if holds)


def list_sessions(db: Session) -> list[SessionLine]:
    """Return every session, newest first, drafts and undated ones at the top."""
    people = _counts(db, SessionAssessor.session_id)
    lines = _counts(db, SessionDescriptor.session_id)
    glasses = _counts(db, Serving.session_id, Serving.pouring == 1)
    finished = _counts(db, Serving.session_id, Serving.finished_at.is_not(None))
    scores: Counter[int] = Counter()
    for tables in all_line_tables():
        scored = (
            select(Serving.session_id, func.count())
            .join(tables.score, tables.score.serving_id == Serving.id)
            .where(tables.is_score)
            .group_by(Serving.session_id)
        )
        scores.update({session_id: count for session_id, count in db.execute(scored)})
    sessions = db.scalars(select(PanelSession)).all()
    ordered = sorted(sessions, key=lambda one: (one.held_on or date.max, one.id), reverse=True)
    return [
        SessionLine(
            name=one.name,
            held_on=one.held_on,
            status=one.status.value,
            manner=one.manner.value,
            n_assessors=people.get(one.id, 0),
            n_descriptors=lines.get(one.id, 0),
            n_glasses=glasses.get(one.id, 0),
            n_scores=scores[one.id],
            loaded=one.loaded,
            rehearsal=one.rehearsal,
            blind=one.blind,
            kind=one.kind,
            n_finished=finished.get(one.id, 0),
        )
        for one in ordered
    ]


def _counts(
    db: Session, column: InstrumentedAttribute[int], *only: ColumnElement[bool]
) -> dict[int, int]:
    counted = select(column, func.count()).where(*only).group_by(column)
    return {session_id: count for session_id, count in db.execute(counted)}
