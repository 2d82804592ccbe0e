"""Sessions that a score file speaks of: those recorded, and those it brings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import count
from typing import Any, TypeAlias

from sqlalchemy import Row, func, select
from sqlalchemy.orm import joinedload

from panel.intake.load import ASKED_AT_ONCE, Load, fetch
from panel.intake.score_rows import GlassMark
from panel.kinds import USUAL_SCALE, GlassKind, SessionKind, SessionStatus
from panel.store.draws import Draw
from panel.store.key import KeyRow
from panel.store.lexicon import DescriptorVersion
from panel.store.line_tables import ON_DESCRIPTORS, LineTables
from panel.store.own_words import OwnWord
from panel.store.people import Person
from panel.store.sessions import (
    PanelSession,
    Serving,
    SessionAssessor,
    SessionDescriptor,
    code_read,
)
from panel.store.training import Training, by_code, in_training_on, trainings

DrawKey = tuple[str, GlassKind, int]
"""Sample, kind and replicate: what a key row is for."""
ServingKey = tuple[str, str, GlassKind, int, int]
"""Assessor, sample, kind, replicate and pouring."""


@dataclass(slots=True)
class SheetLine:
    """One descriptor of a session's score sheet with its scale."""

    version: DescriptorVersion
    low: float
    high: float
    first_row: int
    record: SessionDescriptor | None = None

    @property
    def name(self) -> str:
        """Return the descriptor's name."""
        return self.version.descriptor.name

    @property
    def number(self) -> int:
        """Return the number that scores lie under."""
        return self.version.id


@dataclass(slots=True)
class LoadedWord:
    """One own word of an assessor in a session: recorded, or brought by the file."""

    name: str
    first_row: int
    record: OwnWord | None = None
    low: float = USUAL_SCALE.low
    high: float = USUAL_SCALE.high

    @property
    def number(self) -> int:
        """Return the number that scores lie under."""
        if self.record is None:
            raise RuntimeError(f"the word {self.name!r} is not written yet")
        return self.record.id


ScoreLine: TypeAlias = SheetLine | LoadedWord


@dataclass(slots=True)
class LoadedGlass:
    """One serving: recorded (it has an id) or brought by the file."""

    session: SessionState
    assessor: str
    draw: Draw
    code: str
    kind: GlassKind
    replicate: int
    pouring: int
    flight: int = 1
    position: int | None = None
    state: GlassMark = field(default_factory=GlassMark)
    serving_id: int | None = None
    first_row: int = 0
    changed: bool = False


@dataclass(slots=True)
class LoadedSeat:
    """An assessor in a session."""

    person: Person
    knew_key: bool
    first_row: int = 0
    record: SessionAssessor | None = None


@dataclass(slots=True)
class SessionState:
    """One session: what is recorded of it and what the file adds."""

    name: str
    held_on: date | None
    kind: SessionKind
    record: PanelSession | None = None
    first_row: int = 0
    lines: dict[str, SheetLine] = field(default_factory=dict)
    codes: dict[DrawKey, str] = field(default_factory=dict)
    glasses: dict[ServingKey, LoadedGlass] = field(default_factory=dict)
    kinds: dict[tuple[str, int], list[GlassKind]] = field(default_factory=dict)
    words: dict[str, dict[str, LoadedWord]] = field(default_factory=dict)
    """The own words of each assessor, in their order."""
    seats: dict[str, LoadedSeat] = field(default_factory=dict)
    trainings: Mapping[str, Sequence[Training]] = field(default_factory=dict)

    def trained(self, assessor: str) -> bool:
        """Say whether somebody was in training on the day of the session."""
        return in_training_on(self.trainings.get(assessor, ()), self.held_on)

    @property
    def held_here(self) -> bool:
        """Say whether the session was held in our own booths."""
        return self.record is not None and not self.record.loaded

    @property
    def not_revealed(self) -> str | None:
        """Return the stage of a session that is not revealed yet."""
        if self.record is None or self.record.status is SessionStatus.REVEALED:
            return None
        return self.record.status.value

    def code_for(self, key: DrawKey) -> str:
        """Return the code of a glass, a new one in the order of the file where it has none."""
        if key not in self.codes:
            self.codes[key] = f"L{len(self.codes) + 1:03d}"
        return self.codes[key]

    def kind_of(self, sample: str, replicate: int) -> GlassKind | None:
        """Return the kind of the one recorded glass of a sample and replicate, None if in doubt."""
        kinds = self.kinds.get((sample, replicate), [])
        return kinds[0] if len(kinds) == 1 else None


def fetch_sessions(load: Load, names: Iterable[str]) -> dict[str, SessionState]:
    """Return the recorded sessions of these names. Of one not revealed nothing but its stage."""
    trained = by_code(trainings(load.db))
    found = fetch(load.db, select(PanelSession), PanelSession.name, names)
    states = {
        one.name: SessionState(one.name, one.held_on, one.kind, record=one, trainings=trained)
        for one in found
    }
    by_id = {s.record.id: s for s in states.values() if s.record and not s.not_revealed}
    if by_id:
        _fetch_sheets(load, by_id)
        _fetch_words(load, by_id)
        _fetch_glasses(load, by_id)
    return states


def _fetch_sheets(load: Load, by_id: dict[int, SessionState]) -> None:
    with_word = select(SessionDescriptor).options(
        joinedload(SessionDescriptor.descriptor_version).joinedload(DescriptorVersion.descriptor)
    )
    sheet = fetch(load.db, with_word, SessionDescriptor.session_id, by_id)
    for line in sorted(sheet, key=lambda line: line.place):
        version = line.descriptor_version
        by_id[line.session_id].lines[version.descriptor.name] = SheetLine(
            version, line.scale_low, line.scale_high, 0, line
        )
    seats = select(SessionAssessor).options(joinedload(SessionAssessor.person))
    taken_seats = fetch(load.db, seats, SessionAssessor.session_id, by_id)
    for seat in sorted(taken_seats, key=lambda seat: seat.seat):
        taken = LoadedSeat(seat.person, seat.knew_key, record=seat)
        by_id[seat.session_id].seats[seat.person.code] = taken


def _fetch_words(load: Load, by_id: dict[int, SessionState]) -> None:
    with_person = select(OwnWord).options(joinedload(OwnWord.person))
    named = fetch(load.db, with_person, OwnWord.session_id, by_id)
    for word in sorted(named, key=lambda word: word.place):
        theirs = by_id[word.session_id].words.setdefault(word.person.code, {})
        theirs[word.word] = LoadedWord(word.word, 0, word)


def _fetch_glasses(load: Load, by_id: dict[int, SessionState]) -> None:
    with_draw = select(KeyRow).options(joinedload(KeyRow.draw))
    behind: dict[tuple[int, str, str], KeyRow] = {}
    for row in fetch(load.db, with_draw, KeyRow.session_id, by_id):
        state, label = by_id[row.session_id], row.draw.label
        behind[row.session_id, row.tray, row.code] = row
        state.codes.setdefault((label, row.kind, row.replicate), row.code)
        kinds = state.kinds.setdefault((label, row.replicate), [])
        if row.kind not in kinds:
            kinds.append(row.kind)
    ids = sorted(by_id)
    for start in range(0, len(ids), ASKED_AT_ONCE):
        for served in load.db.execute(_servings(ids[start : start + ASKED_AT_ONCE])):
            _add_glass(by_id[served.session_id], served, behind)


def _servings(session_ids: list[int]) -> Any:
    taken = func.coalesce(Serving.taken_order, Serving.position).label("taken")
    return (
        select(
            *(Serving.id, Serving.session_id, Person.code.label("assessor"), Serving.code),
            *(code_read().label("read"), Serving.pouring, Serving.flight, Serving.status, taken),
        )
        .join(Person, Person.id == Serving.person_id)
        .where(Serving.session_id.in_(session_ids))
        .order_by(Serving.pouring, Serving.read_as.is_not(None), Serving.id)
    )


def _add_glass(
    state: SessionState, served: Row[Any], behind: dict[tuple[int, str, str], KeyRow]
) -> None:
    own_tray = behind.get((served.session_id, served.assessor, served.read))
    row = own_tray or behind.get((served.session_id, "", served.read))
    if row is None:
        return
    seat = state.seats.get(served.assessor)
    glass = (served.assessor, row.draw.label, row.kind, row.replicate)
    # Of two exchanged glasses one may have been poured again under its own code.
    pouring = next(n for n in count(served.pouring) if (*glass, n) not in state.glasses)
    state.glasses[(*glass, pouring)] = LoadedGlass(
        session=state,
        assessor=served.assessor,
        draw=row.draw,
        code=served.code,
        kind=row.kind,
        replicate=row.replicate,
        pouring=pouring,
        flight=served.flight,
        position=served.taken,
        state=GlassMark(
            served.status, seat is not None and seat.knew_key, state.trained(served.assessor)
        ),
        serving_id=served.id,
    )


def fetch_scores(
    load: Load, states: Iterable[SessionState], tables: LineTables = ON_DESCRIPTORS
) -> dict[tuple[int, int], float]:
    """Return the recorded scores of some sessions by serving and line."""
    ids = [state.record.id for state in states if state.record and not state.not_revealed]
    scores: dict[tuple[int, int], float] = {}
    for start in range(0, len(ids), ASKED_AT_ONCE):
        asked = (
            select(tables.score.serving_id, tables.line_of_score, tables.score.value)
            .join(Serving, Serving.id == tables.score.serving_id)
            .where(Serving.session_id.in_(ids[start : start + ASKED_AT_ONCE]))
        )
        for serving, line, value in load.db.execute(asked):
            scores[serving, line] = value
    return scores
