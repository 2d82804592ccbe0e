"""The lines that a booth scores on: the session's descriptors, or the assessor's own words.

Either way a line is a number; what comes of where the lines come from is settled here, once: a
sheet for each, with the tables its scores lie in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TypeAlias

from sqlalchemy import bindparam, select
from sqlalchemy.orm import Session, joinedload

from panel.kinds import LinesFrom, Scale
from panel.store.answers import HIGHEST, LOWEST, ONLY_QUESTION
from panel.store.booth_tray import LATEST_S, Line, Seat, WordLimits, second_of
from panel.store.booth_words import scored_words, words_of
from panel.store.lexicon import DescriptorVersion
from panel.store.line_tables import (
    BY_STAGE,
    IN_ANSWERS,
    ON_DESCRIPTORS,
    ON_OWN_WORDS,
    LineTables,
    Tables,
)
from panel.store.own_words import OwnWord
from panel.store.sessions import PanelSession, SessionDescriptor
from panel.store.stage_lines import WHEN, StageLine, stage_lines
from panel.store.word_text import HIGH_WORDS, LOW_WORDS

OWN_MEANING = "your own word"


def tables_of(session: PanelSession) -> Tables:
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
    parts = (part for sheet in SHEETS.values() for part in sheet.tables.parts)
    return tuple(dict.fromkeys(parts))


Ends: TypeAlias = Mapping[int, tuple[float, float]]


@dataclass(frozen=True)
class Sheet:
    """One way to come by lines: where their scores lie, what they are, what may be done to them."""

    tables: Tables
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


def _stage_lines(db: Session, _seat: Seat, session: PanelSession) -> tuple[Line, ...]:
    return tuple(_stage_line(each) for each in stage_lines(_sheet(db, session)))


def _stage_line(line: StageLine) -> Line:
    """Return a line of a sheet with stages: of a note by stages it says when it is scored."""
    usual = _line(line.row)
    if not line.staged:
        return usual
    meaning = f"{WHEN[line.stage]}{f'; {usual.meaning}' if usual.meaning else ''}"
    at = line.stage.value
    return replace(usual, version_id=line.number, name=line.name, stage=at, meaning=meaning)


def _stage_ends(db: Session, _seat: Seat, session: PanelSession) -> Ends:
    lines = stage_lines(_sheet(db, session))
    return {line.number: (line.row.scale_low, line.row.scale_high) for line in lines}


def _places_of_stages(db: Session, _seat: Seat, session: PanelSession) -> Mapping[int, int]:
    return {line.number: line.place for line in stage_lines(_sheet(db, session))}


SHEETS: dict[LinesFrom, Sheet] = {
    LinesFrom.LEXICON: Sheet(
        *(ON_DESCRIPTORS, _descriptor_lines, _descriptor_ends, _nothing_own),
        _places_on_the_sheet,
    ),
    LinesFrom.STAGES: Sheet(
        *(BY_STAGE, _stage_lines, _stage_ends, _nothing_own), _places_of_stages
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
