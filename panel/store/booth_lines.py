"""The lines that a booth scores on: the session's descriptors, or the assessor's own words.

Either way a line is a number; what comes of where the lines come from is settled here, once: a
sheet for each, with the tables its scores lie in.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, TypeAlias

from sqlalchemy import ColumnElement, Select, bindparam, select, true
from sqlalchemy.orm import Session, joinedload

from panel.kinds import LinesFrom, Scale
from panel.store.answers import HIGHEST, LOWEST, ONLY_QUESTION, Answer, AnswerChange
from panel.store.booth_tray import (
    LATEST_S,
    SECONDS_FROM,
    Line,
    Seat,
    WordLimits,
    second_of,
)
from panel.store.booth_words import scored_words, words_of
from panel.store.lexicon import DescriptorVersion
from panel.store.own_words import OwnScore, OwnScoreChange, OwnWord
from panel.store.sessions import PanelSession, Score, ScoreChange, SessionDescriptor
from panel.store.word_text import HIGH_WORDS, LOW_WORDS

OWN_MEANING = "your own word"
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
    def is_score(self) -> ColumnElement[bool]:
        """Return what holds of a score, and not of what is told beside one."""
        return true() if self.beside_from is None else self.line_of_score < self.beside_from

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


def tables_of(session: PanelSession) -> LineTables:
    """Return where the scores of a session lie."""
    return _sheet_of(session).tables


def lines_of(db: Session, seat: Seat, session: PanelSession) -> tuple[Line, ...]:
    """Return the lines that this assessor scores every glass on; nobody else's words."""
    return _sheet_of(session).lines(db, seat, session)


def own_words_of(db: Session, seat: Seat, session: PanelSession) -> WordLimits | None:
    """Return what may be done about the assessor's words, None where the lexicon is scored."""
    return _sheet_of(session).own(db, seat, session)


def line_places(db: Session, seat: Seat, session: PanelSession) -> Mapping[int, int]:
    """Return by the number of each line here its place, which is the same at every site."""
    return _sheet_of(session).places(db, seat, session)


def scale_ends(db: Session, seat: Seat, session: PanelSession) -> Mapping[int, tuple[float, float]]:
    """Return both ends of each line that this assessor may score, by its number."""
    return _sheet_of(session).ends(db, seat, session)


def all_line_tables() -> tuple[LineTables, ...]:
    """Return every place where scores lie."""
    return tuple(sheet.tables for sheet in SHEETS.values())


Ends: TypeAlias = Mapping[int, tuple[float, float]]


@dataclass(frozen=True)
class Sheet:
    """One way to come by lines: where their scores lie, what they are, what may be done to them."""

    tables: LineTables
    lines: Callable[[Session, Seat, PanelSession], tuple[Line, ...]]
    ends: Callable[[Session, Seat, PanelSession], Ends]
    own: Callable[[Session, Seat, PanelSession], WordLimits | None]
    places: Callable[[Session, Seat, PanelSession], Mapping[int, int]]
    """By the number of a line: by what it is known wherever the session is nosed."""


DESCRIPTOR_ENDS = select(
    SessionDescriptor.descriptor_version_id,
    SessionDescriptor.scale_low,
    SessionDescriptor.scale_high,
).where(SessionDescriptor.session_id == bindparam("its"))


def _descriptor_lines(db: Session, _seat: Seat, session: PanelSession) -> tuple[Line, ...]:
    return tuple(_line(row) for row in _sheet(db, session))


def _descriptor_ends(db: Session, _seat: Seat, session: PanelSession) -> Ends:
    # Every kept score asks this: plain columns are read, no objects made.
    return {
        line: (low, high) for line, low, high in db.execute(DESCRIPTOR_ENDS, {"its": session.id})
    }


def _places_on_the_sheet(db: Session, _seat: Seat, session: PanelSession) -> Mapping[int, int]:
    return {row.descriptor_version_id: row.place for row in _sheet(db, session)}


def _places_of_words(db: Session, seat: Seat, _session: PanelSession) -> Mapping[int, int]:
    return {named.id: named.place for named in db.scalars(words_of(seat))}


def _places_of_questions(db: Session, seat: Seat, session: PanelSession) -> Mapping[int, int]:
    return {number: number for number in _question_ends(db, seat, session)}


def _nothing_own(_db: Session, _seat: Seat, _session: PanelSession) -> None:
    return None


def _word_lines(db: Session, seat: Seat, session: PanelSession) -> tuple[Line, ...]:
    scale = session.kind.facts.scale
    return tuple(_own_line(named, scale) for named in db.scalars(words_of(seat)))


def _word_ends(db: Session, seat: Seat, session: PanelSession) -> Ends:
    scale = session.kind.facts.scale
    return {named.id: (scale.low, scale.high) for named in db.scalars(words_of(seat))}


def _own_words(db: Session, seat: Seat, session: PanelSession) -> WordLimits:
    return WordLimits(session.most_words, scored_words(db, seat))


def _question_lines(db: Session, _seat: Seat, session: PanelSession) -> tuple[Line, ...]:
    """Return what is asked of the glasses, as far as a note is named: a number and that note.

    Of a trace, a line for each prompt, named by its second.
    """
    if prompts := session.kind.facts.prompts_s:
        return tuple(
            replace(_line(row), version_id=number, name=f"{second} s", note=_line(row).name)
            for row in _sheet(db, session)
            for number, second in enumerate(prompts, start=ONLY_QUESTION)
        )
    return tuple(
        replace(_line(row), version_id=number)
        for number, row in enumerate(_sheet(db, session), start=ONLY_QUESTION)
    )


def _question_ends(_db: Session, _seat: Seat, session: PanelSession) -> Ends:
    facts = session.kind.facts
    if not facts.traced:
        return {ONLY_QUESTION: (LOWEST, HIGHEST)}
    prompts = range(ONLY_QUESTION, ONLY_QUESTION + len(facts.prompts_s))
    keys = (float(facts.scale.low), float(facts.scale.high))
    return {**dict.fromkeys(prompts, keys), **{second_of(n): (0.0, LATEST_S) for n in prompts}}


SHEETS: dict[LinesFrom, Sheet] = {
    LinesFrom.LEXICON: Sheet(
        *(ON_DESCRIPTORS, _descriptor_lines, _descriptor_ends, _nothing_own),
        _places_on_the_sheet,
    ),
    LinesFrom.EACH_ASSESSOR: Sheet(
        *(ON_OWN_WORDS, _word_lines, _word_ends, _own_words), _places_of_words
    ),
    LinesFrom.ANSWER: Sheet(
        *(IN_ANSWERS, _question_lines, _question_ends, _nothing_own), _places_of_questions
    ),
}


def _sheet_of(session: PanelSession) -> Sheet:
    return SHEETS[session.kind.facts.lines]


def _own_line(named: OwnWord, scale: Scale) -> Line:
    ends = (LOW_WORDS, HIGH_WORDS, scale.low, scale.high)
    return Line(named.id, named.word, "", OWN_MEANING, *ends)


def _sheet(db: Session, session: PanelSession) -> Iterator[SessionDescriptor]:
    whole = joinedload(SessionDescriptor.descriptor_version).joinedload(
        DescriptorVersion.descriptor
    )
    asked = select(SessionDescriptor).where(SessionDescriptor.session_id == session.id)
    yield from db.scalars(asked.options(whole).order_by(SessionDescriptor.place))


def _line(row: SessionDescriptor) -> Line:
    version = row.descriptor_version
    return Line(
        version_id=version.id,
        name=version.descriptor.name,
        stage=version.stage.value,
        meaning=version.meaning or "",
        low_words=version.low_words,
        high_words=version.high_words,
        low=round(row.scale_low),
        high=round(row.scale_high),
    )
