"""Writing what a score file brings: few records of sessions, many of glasses and scores."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from itertools import islice
from typing import Any

from sqlalchemy import Delete, bindparam, delete, insert, select, update

from panel.intake.load import ASKED_AT_ONCE, Load
from panel.intake.score_sessions import LoadedGlass, ScoreLine, SessionState
from panel.kinds import GlassKind, SessionStatus
from panel.store.key import KeyRow
from panel.store.line_tables import LineTables
from panel.store.own_words import OwnWord
from panel.store.sessions import (
    PanelSession,
    Serving,
    SessionAssessor,
    SessionDescriptor,
)
from panel.store.stage_lines import order_of
from panel.store.touched import note_rows

PORTION = 20_000
LOADED_BEFORE = "load"


@dataclass
class Changes:
    """Scores to write: new ones, and recorded ones that another value (or none) replaces."""

    new: list[tuple[LoadedGlass, ScoreLine, float | None]] = field(default_factory=list)
    replaced: list[tuple[LoadedGlass, ScoreLine, float, float | None]] = field(default_factory=list)


def write_scores(
    load: Load, states: Mapping[str, SessionState], changes: Changes, tables: LineTables
) -> None:
    """Write sessions, seats, sheets, words, keys, glasses and scores, in the caller's transaction.

    *tables* is where the scores lie: on descriptors or on own words.
    """
    for state in states.values():
        _write_session(load, state)
    load.db.flush()
    for state in states.values():
        _write_seats(load, state)
        _write_sheet(load, state)
        _write_words(load, state)
        _write_key(load, state)
    load.db.flush()
    _write_glasses(load, states)
    _write_new(load, changes, tables)
    _write_replaced(load, changes, tables)


def _write_session(load: Load, state: SessionState) -> None:
    if state.record is None:
        state.record = PanelSession(
            name=state.name,
            held_on=state.held_on,
            status=SessionStatus.REVEALED,
            loaded=True,
            kind=state.kind,
        )
        load.db.add(state.record)


def _record(state: SessionState) -> PanelSession:
    if state.record is None:
        raise RuntimeError(f"session {state.name} is not written yet")
    return state.record


def _write_seats(load: Load, state: SessionState) -> None:
    taken = sum(seat.record is not None for seat in state.seats.values())
    for seat in state.seats.values():
        if seat.record is None:
            taken += 1
            seat.record = SessionAssessor(
                session=_record(state), person=seat.person, seat=taken, knew_key=seat.knew_key
            )
            load.db.add(seat.record)


def _write_sheet(load: Load, state: SessionState) -> None:
    lines = (line.record for line in state.lines.values())
    recorded = [order_of(line) for line in lines if line]
    place = max(recorded, default=0)
    for line in state.lines.values():
        if line.record is None:
            place += 1
            line.record = SessionDescriptor(
                session=_record(state),
                descriptor_version=line.version,
                place=place,
                scale_low=line.low,
                scale_high=line.high,
            )
            load.db.add(line.record)


def _write_words(load: Load, state: SessionState) -> None:
    for assessor, theirs in state.words.items():
        recorded = [line.record.place for line in theirs.values() if line.record]
        place = max(recorded, default=0)
        for line in theirs.values():
            if line.record is None:
                place += 1
                line.record = OwnWord(
                    session=_record(state),
                    person=state.seats[assessor].person,
                    place=place,
                    word=line.name,
                    named_at=load.now,
                )
                load.db.add(line.record)


def _write_key(load: Load, state: SessionState) -> None:
    new = {
        (glass.draw.label, glass.kind, glass.replicate): glass.draw
        for glass in state.glasses.values()
        if glass.serving_id is None
    }
    for (label, kind, replicate), draw in new.items():
        if kind in state.kinds.get((label, replicate), []):
            continue
        load.db.add(
            KeyRow(
                session_id=_record(state).id,
                tray="",
                code=state.codes[label, kind, replicate],
                draw=draw,
                kind=kind,
                replicate=replicate,
            )
        )


def _write_glasses(load: Load, states: Mapping[str, SessionState]) -> None:
    glasses = [glass for state in states.values() for glass in state.glasses.values()]
    new = [glass for glass in glasses if glass.serving_id is None]
    for portion in _portions(new):
        load.db.connection().execute(insert(Serving), [_serving(glass) for glass in portion])
    _learn_ids(load, new)
    changed = [glass for glass in glasses if glass.serving_id is not None and glass.changed]
    for portion in _portions(changed):
        load.db.execute(update(Serving), [_changed_serving(glass) for glass in portion])


def _serving(glass: LoadedGlass) -> dict[str, Any]:
    return {
        "session_id": _record(glass.session).id,
        "person_id": glass.session.seats[glass.assessor].person.id,
        "flight": glass.flight,
        "position": glass.position,
        "code": glass.code,
        "pouring": glass.pouring,
        "warm_up": glass.kind is GlassKind.WARM_UP,
        "status": glass.state.status,
    }


def _changed_serving(glass: LoadedGlass) -> dict[str, Any]:
    return {
        "id": glass.serving_id,
        "flight": glass.flight,
        "position": glass.position,
        "status": glass.state.status,
    }


def _learn_ids(load: Load, new: list[LoadedGlass]) -> None:
    sessions = {_record(glass.session).id for glass in new}
    asked = select(Serving.id, Serving.session_id, Serving.person_id, Serving.code, Serving.pouring)
    ids = {(row[1], row[2], row[3], row[4]): row[0] for row in _of_sessions(load, asked, sessions)}
    for glass in new:
        person = glass.session.seats[glass.assessor].person.id
        glass.serving_id = ids[_record(glass.session).id, person, glass.code, glass.pouring]
    note_rows(load.db, Serving.__table__, [(glass.serving_id,) for glass in new])


def _write_new(load: Load, changes: Changes, tables: LineTables) -> None:
    done, total = 0, len(changes.new)
    for portion in _portions(changes.new):
        load.db.connection().execute(
            insert(tables.score),
            [
                {
                    "serving_id": glass.serving_id,
                    tables.line: line.number,
                    "value": value,
                    "given_at": load.now,
                }
                for glass, line, value in portion
            ],
        )
        written = [(glass.serving_id, line.number) for glass, line, _ in portion]
        note_rows(load.db, tables.score.__table__, written)
        done += len(portion)
        load.progress(total + done, 2 * total)


def _write_replaced(load: Load, changes: Changes, tables: LineTables) -> None:
    if not changes.replaced:
        return
    sessions = {_record(glass.session).id for glass, *_ in changes.replaced}
    given, told = _given_at(load, sessions, tables), _told_before(load, sessions, tables)
    history: list[dict[str, Any]] = []
    values: list[dict[str, Any]] = []
    cleared: list[dict[str, Any]] = []
    for glass, line, before, after in changes.replaced:
        key = (glass.serving_id, line.number)
        named = {"serving_id": key[0], tables.line: key[1]}
        if key not in told:  # a loaded score enters the history when it is first replaced
            before_it = {"value": before, "changed_at": given[key], "by_code": LOADED_BEFORE}
            history.append({**named, **before_it})
        history.append({**named, "value": after, "changed_at": load.now, "by_code": load.by})
        if after is None:
            cleared.append({"serving": key[0], "on_line": key[1]})
        else:
            values.append({**named, "value": after, "given_at": load.now})
    load.db.execute(insert(tables.change), history)
    if values:
        load.db.execute(update(tables.score), values)
    if cleared:
        load.db.connection().execute(_clearing(tables), cleared)
        note_rows(load.db, tables.score.__table__, [tuple(each.values()) for each in cleared])


def _clearing(tables: LineTables) -> Delete:
    return delete(tables.score.__table__).where(  # type: ignore[arg-type]
        tables.score.serving_id == bindparam("serving"),
        tables.line_of_score == bindparam("on_line"),
    )


def _given_at(
    load: Load, sessions: set[int], tables: LineTables
) -> dict[tuple[int | None, int], datetime]:
    score = tables.score
    asked = select(score.serving_id, tables.line_of_score, score.given_at).join(
        Serving, Serving.id == score.serving_id
    )
    return {(row[0], row[1]): row[2] for row in _of_sessions(load, asked, sessions)}


def _told_before(load: Load, sessions: set[int], tables: LineTables) -> set[tuple[int | None, int]]:
    asked = select(tables.change.serving_id, tables.line_of_change).join(
        Serving, Serving.id == tables.change.serving_id
    )
    return {(row[0], row[1]) for row in _of_sessions(load, asked, sessions)}


def _of_sessions(load: Load, asked: Any, sessions: set[int]) -> Iterator[Any]:
    ids = sorted(sessions)
    for start in range(0, len(ids), ASKED_AT_ONCE):
        portion = ids[start : start + ASKED_AT_ONCE]
        yield from load.db.execute(asked.where(Serving.session_id.in_(portion)))


def _portions(items: Iterable[Any]) -> Iterator[list[Any]]:
    waiting = iter(items)
    while portion := list(islice(waiting, PORTION)):
        yield portion
