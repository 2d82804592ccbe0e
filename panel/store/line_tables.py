"""Where scores lie: a table of those that count and one of their history, for each kind of line."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Any, TypeAlias

from sqlalchemy import ColumnElement, Select, select, true
from sqlalchemy.orm import Session

from panel.store.answers import Answer, AnswerChange
from panel.store.booth_tray import SECONDS_FROM
from panel.store.own_words import OwnScore, OwnScoreChange
from panel.store.sessions import Score, ScoreChange

AnyScore: TypeAlias = Score | OwnScore | Answer
AnyChange: TypeAlias = ScoreChange | OwnScoreChange | AnswerChange


@dataclass(frozen=True)
class LineTables:
    """Where the scores of one kind of line lie, and the column that names the line there."""

    score: type[Score] | type[OwnScore] | type[Answer]
    change: type[ScoreChange] | type[OwnScoreChange] | type[AnswerChange]
    line: str
    beside_from: int | None = None
    """From this number on a line tells something beside a score, and is none itself."""

    @property
    def parts(self) -> tuple[LineTables, ...]:
        """Return each two tables that scores lie in: these."""
        return (self,)

    @property
    def is_score(self) -> ColumnElement[bool]:
        """Return what holds of a score, and not of what is told beside one."""
        return true() if self.beside_from is None else self.line_of_score < self.beside_from

    @property
    def is_change_of_score(self) -> ColumnElement[bool]:
        """Return what holds in the history of a score, and not of what is told beside one."""
        return true() if self.beside_from is None else self.line_of_change < self.beside_from

    @property
    def line_of_score(self) -> ColumnElement[int]:
        """Return the column that names the line of a score."""
        column: ColumnElement[int] = getattr(self.score, self.line)
        return column

    @property
    def line_of_change(self) -> ColumnElement[int]:
        """Return the column that names the line in the history."""
        column: ColumnElement[int] = getattr(self.change, self.line)
        return column

    def new_score(self, serving_id: int, line: int, **facts: Any) -> AnyScore:
        """Return a score of one glass on one line."""
        return self.score(serving_id=serving_id, **{self.line: line}, **facts)

    def new_change(self, serving_id: int, line: int, **facts: Any) -> AnyChange:
        """Return an entry of the history of one glass on one line."""
        return self.change(serving_id=serving_id, **{self.line: line}, **facts)

    def kept(self, db: Session, serving_id: int, line: int) -> AnyScore | None:
        """Return the score of one glass on one line, if there is one."""
        found: AnyScore | None = db.get(self.score, (serving_id, line))  # type: ignore[assignment]
        return found

    def given(self, db: Session, servings: Collection[int]) -> Iterator[tuple[int, int, AnyScore]]:
        """Yield glass, line and score of all that is given to some glasses."""
        asked: Select[Any] = select(self.score).where(self.score.serving_id.in_(servings))
        for score in db.scalars(asked):
            yield score.serving_id, getattr(score, self.line), score

    def changed(self, db: Session, serving_id: int) -> Iterator[tuple[int, AnyChange]]:
        """Yield line and change of all that was ever said of one glass, in its order."""
        asked: Select[Any] = select(self.change).where(self.change.serving_id == serving_id)
        for change in db.scalars(asked.order_by(self.change.id)):
            yield getattr(change, self.line), change


ON_DESCRIPTORS = LineTables(Score, ScoreChange, "descriptor_version_id")
ON_OWN_WORDS = LineTables(OwnScore, OwnScoreChange, "own_word_id")
IN_ANSWERS = LineTables(Answer, AnswerChange, "question", beside_from=SECONDS_FROM)


@dataclass(frozen=True)
class StageTables:
    """Where the scores of a sheet with stages lie: a line below 0 is an answer, of that number."""

    once: LineTables
    by_stage: LineTables

    @property
    def parts(self) -> tuple[LineTables, ...]:
        """Return each two tables that scores lie in."""
        return self.once, self.by_stage

    def _place(self, line: int) -> tuple[LineTables, int]:
        return (self.by_stage, -line) if line < 0 else (self.once, line)

    def new_score(self, serving_id: int, line: int, **facts: Any) -> AnyScore:
        """Return a score of one glass on one line."""
        tables, number = self._place(line)
        return tables.new_score(serving_id, number, **facts)

    def new_change(self, serving_id: int, line: int, **facts: Any) -> AnyChange:
        """Return an entry of the history of one glass on one line."""
        tables, number = self._place(line)
        return tables.new_change(serving_id, number, **facts)

    def kept(self, db: Session, serving_id: int, line: int) -> AnyScore | None:
        """Return the score of one glass on one line, if there is one."""
        tables, number = self._place(line)
        return tables.kept(db, serving_id, number)

    def given(self, db: Session, servings: Collection[int]) -> Iterator[tuple[int, int, AnyScore]]:
        """Yield glass, line and score of all that is given to some glasses."""
        yield from self.once.given(db, servings)
        for serving_id, question, score in self.by_stage.given(db, servings):
            yield serving_id, -question, score

    def changed(self, db: Session, serving_id: int) -> Iterator[tuple[int, AnyChange]]:
        """Yield line and change of all that was ever said of one glass, of each line in order."""
        yield from self.once.changed(db, serving_id)
        for question, change in self.by_stage.changed(db, serving_id):
            yield -question, change


Tables: TypeAlias = LineTables | StageTables
BY_STAGE = StageTables(ON_DESCRIPTORS, IN_ANSWERS)
