"""Scores of revealed sessions as they are saved, long or wide.

The long shape has a row for every glass and every line of its sheet, with an empty score where
none was given: so that a glass nobody scored and the order of the sheet are kept too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import IntakeError, WrongState
from panel.figures import in_digits
from panel.frames import find_session
from panel.intake.columns import plain_heading
from panel.intake.kinds import Kind
from panel.intake.load import Load, Progress
from panel.intake.saved_records import Sheet, Values
from panel.intake.score_rows import COLUMNS, OF_A_LINE
from panel.intake.score_sessions import (
    LoadedGlass,
    SessionState,
    SheetLine,
    fetch_scores,
    fetch_sessions,
)
from panel.intake.session_kinds import (
    SCORE_FILES,
    is_usual_file,
    left_out_because,
    where_saved,
)
from panel.kinds import SessionStatus
from panel.store.draws import Draw
from panel.store.line_tables import ON_DESCRIPTORS, ON_OWN_WORDS, LineTables
from panel.store.off_line import off_line_scores
from panel.store.sessions import PanelSession

OF_A_GLASS = (
    *("session", "held_on", "assessor", "sample", "cask", "kind", "flight", "position"),
    *("replicate", "pouring", "status"),
)
LONG = (*OF_A_GLASS, "descriptor", *OF_A_LINE, "score")
OWN = (*OF_A_GLASS, "word", "score")


@dataclass(frozen=True)
class Chosen:
    """The sessions to save, and a sentence for those that were left out."""

    sessions: tuple[str, ...]
    left_out: tuple[str, ...] = field(default=())


def choose_sessions(db: Session, names: Sequence[str], file: Kind = Kind.SCORES) -> Chosen:
    """Return the revealed sessions, all or those named, by day, whose scores a kind of file holds.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    WrongState
        A named session is not revealed (nothing of it leaves the house before), or not scored on
        lines of this kind.
    """
    named = [find_session(db, name) for name in names]
    for session in named:
        if session.status is not SessionStatus.REVEALED:
            raise WrongState(
                f"Session {session.name} is {session.status.value}: its scores are saved once it "
                "is revealed."
            )
        if SCORE_FILES[session.kind] is not file:
            raise WrongState(f"Session {session.name} is {where_saved(session.kind)}.")
    every = named or list(db.scalars(select(PanelSession)))
    mine = [one for one in every if SCORE_FILES[one.kind] is file]
    kept = [one for one in mine if _is_saved(one) or one in named]
    kept.sort(key=lambda one: (one.held_on is None, one.held_on or 0, one.name))
    others = [one for one in every if SCORE_FILES[one.kind] is not file and _is_saved(one)]
    told = others if is_usual_file(file) else []
    return Chosen(tuple(one.name for one in kept), tuple(_left_out(mine, kept, told)))


def _left_out(
    every: Sequence[PanelSession], kept: Sequence[PanelSession], others: Sequence[PanelSession]
) -> Iterator[str]:
    told = {
        "Not revealed yet, so left out": [
            one.name for one in every if one.status is not SessionStatus.REVEALED
        ],
        "Rehearsals, so left out": [
            one.name for one in every if one not in kept and one.status is SessionStatus.REVEALED
        ],
    }
    for one in others:
        told.setdefault(left_out_because(one.kind), []).append(one.name)
    for why, names in told.items():
        if names:
            yield f"{why}: {', '.join(sorted(names))}."


def _is_saved(session: PanelSession) -> bool:
    return session.status is SessionStatus.REVEALED and not session.rehearsal


def saved_scores(load: Load, names: Sequence[str], progress: Progress) -> Sheet:
    """Return the scores of some sessions, one row a score."""
    return Sheet(LONG, _long_rows(load, names, progress))


def _long_rows(load: Load, names: Sequence[str], progress: Progress) -> Iterator[Values]:
    for done, name in enumerate(names):
        state, scores = _fetch(load, name)
        lines = list(state.lines.items())
        ends = [(word, line.version.version, line.low, line.high) for word, line in lines]
        for glass in _in_order(state):
            head = _glass_values(state, glass)
            for (_, line), end in zip(lines, ends, strict=True):
                yield (*head, *end, scores.get((glass.serving_id or 0, line.version.id)))
        progress(done + 1, len(names))


def saved_own_scores(load: Load, names: Sequence[str], progress: Progress) -> Sheet:
    """Return the scores of some sessions of own words: a row for each glass and word of its nose.

    As in the long shape of scores an empty score stands where none was given, so that the order of
    the words is kept too.
    """
    return Sheet(OWN, _own_rows(load, names, progress))


def _own_rows(load: Load, names: Sequence[str], progress: Progress) -> Iterator[Values]:
    for done, name in enumerate(names):
        state, scores = _fetch(load, name, ON_OWN_WORDS)
        for glass in _in_order(state):
            head = _glass_values(state, glass)
            for word, line in state.words.get(glass.assessor, {}).items():
                yield (*head, word, scores.get((glass.serving_id or 0, line.number)))
        progress(done + 1, len(names))


def saved_wide(load: Load, names: Sequence[str], progress: Progress) -> Sheet:
    """Return the scores of some sessions, one row a glass and one column a descriptor.

    Raises
    ------
    IntakeError
        The sheets differ within a session in version or scale, or a descriptor is called as one of
        the other columns: only the long shape can tell that.
    """
    words: dict[str, None] = {}
    for name in names:
        state, scores = _fetch(load, name)
        words |= dict.fromkeys(_scored_words(state, scores))
    _refuse_column_names(words)
    headings = (*OF_A_GLASS, *OF_A_LINE, *words)
    return Sheet(headings, _wide_rows(load, names, list(words), progress))


def _wide_rows(
    load: Load, names: Sequence[str], words: Sequence[str], progress: Progress
) -> Iterator[Values]:
    for done, name in enumerate(names):
        state, scores = _fetch(load, name)
        line_values = _one_line_of(state, _scored_words(state, scores))
        for glass in _in_order(state):
            given = [_score(scores, glass, state.lines.get(word)) for word in words]
            yield (*_glass_values(state, glass), *line_values, *given)
        progress(done + 1, len(names))


def _score(
    scores: dict[tuple[int, int], float], glass: LoadedGlass, line: SheetLine | None
) -> float | None:
    return None if line is None else scores.get((glass.serving_id or 0, line.version.id))


def _scored_words(state: SessionState, scores: dict[tuple[int, int], float]) -> list[str]:
    scored = {version for _, version in scores}
    return [word for word, line in state.lines.items() if line.version.id in scored]


def _one_line_of(state: SessionState, words: Sequence[str]) -> Values:
    lines = {
        (line.version.version, line.low, line.high)
        for word, line in state.lines.items()
        if word in words
    }
    if len(lines) > 1:
        raise IntakeError(
            f"Session {state.name} has descriptors of several versions or scales, which one row "
            "cannot tell. Save it without --wide."
        )
    return lines.pop() if lines else (None, None, None)


def _refuse_column_names(words: Sequence[str] | dict[str, None]) -> None:
    for word in words:
        if plain_heading(word) in COLUMNS.known:
            raise IntakeError(
                f"The descriptor {word!r} has the name of a score file's column. Leave --wide out."
            )


def _fetch(
    load: Load, name: str, tables: LineTables = ON_DESCRIPTORS
) -> tuple[SessionState, dict[tuple[int, int], float]]:
    state = fetch_sessions(load, [name])[name]
    scores = fetch_scores(load, [state], tables)
    for off in off_line_scores(load.db, tables, [name]):
        scores.pop((off.serving_id, off.line_id), None)
    return state, scores


def off_line_said(db: Session, names: Sequence[str], file: Kind) -> tuple[str, ...]:
    """Return a sentence for the stored scores that are none: loading would not take them."""
    tables = ON_OWN_WORDS if file is Kind.OWN_SCORES else ON_DESCRIPTORS
    count = len(off_line_scores(db, tables, names))
    if not count:
        return ()
    many = f"{in_digits(count, ',')} scores are no numbers on their lines"
    are = "1 score is no number on its line" if count == 1 else many
    return (f"{are}, so left out (`oakpanel db check` names each).",)


def _in_order(state: SessionState) -> list[LoadedGlass]:
    seats = {code: number for number, code in enumerate(state.seats)}

    def place(glass: LoadedGlass) -> tuple[Any, ...]:
        position = glass.position
        return (
            *(seats.get(glass.assessor, len(seats)), glass.assessor, glass.flight),
            *(position is None, position or 0, glass.draw.label),
            *(glass.kind.value, glass.replicate, glass.pouring),
        )

    return sorted(state.glasses.values(), key=place)


def _glass_values(state: SessionState, glass: LoadedGlass) -> Values:
    draw: Draw = glass.draw
    return (
        *(state.name, state.held_on, glass.assessor, draw.label),
        *(draw.filling.cask.number if draw.filling else None, glass.kind, glass.flight),
        *(glass.position, glass.replicate, glass.pouring, glass.state.words()),
    )
