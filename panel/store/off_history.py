"""Kept scores that are not what the last row of their history says.

Booths write both at once. A score that has no history at all was loaded, and nothing is said of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from panel.figures import in_digits
from panel.store.booth_lines import all_line_tables
from panel.store.line_tables import LineTables
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving


@dataclass(frozen=True)
class OffHistory:
    """A score and the last that its history has of it, None where it was cleared."""

    session: str
    assessor: str
    glass: str
    line: int
    value: float
    last: float | None

    def sentence(self) -> str:
        """Return where it stands and what both say."""
        last = "that it was cleared" if self.last is None else in_digits(self.last, "g")
        return (
            f"{self.session}, {self.assessor}, glass {self.glass}, line {self.line} is "
            f"{in_digits(self.value, 'g')} and its history says {last}"
        )


def off_history(db: Session) -> Iterator[OffHistory]:
    """Give every score that differs from the newest row of its history, wherever scores lie."""
    for tables in all_line_tables():
        yield from (OffHistory(*row) for row in db.execute(_asked(tables)))


def _asked(tables: LineTables) -> Select[*tuple[Any, ...]]:
    score, change = tables.score, tables.change
    newest = (
        select(func.max(change.id).label("id"))
        .group_by(change.serving_id, tables.line_of_change)
        .subquery()
    )
    told = (PanelSession.name, Person.code, Serving.code, tables.line_of_score)
    return (
        select(*told, score.value, change.value)
        .select_from(newest)
        .join(change, change.id == newest.c.id)
        .join(
            score,
            (score.serving_id == change.serving_id)
            & (tables.line_of_score == tables.line_of_change),
        )
        .join(Serving, Serving.id == score.serving_id)
        .join(PanelSession, PanelSession.id == Serving.session_id)
        .join(Person, Person.id == Serving.person_id)
        .where(change.value.is_distinct_from(score.value))
        .order_by(PanelSession.name, Person.code, Serving.code, tables.line_of_score)
    )
