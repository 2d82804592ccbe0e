"""The glasses of a score file against the records and against each other."""

from __future__ import annotations

from dataclasses import dataclass

from panel.intake.kinds import Kind
from panel.intake.load import Load
from panel.intake.score_names import Names
from panel.intake.score_rows import CellFault, GlassRow, ScoreFile
from panel.intake.score_sessions import LoadedGlass, LoadedSeat, SessionState, fetch_sessions
from panel.intake.session_kinds import SCORE_FILES, kind_brought_by, where_to_load
from panel.kinds import DrawKind, GlassKind
from panel.problems import with_way
from panel.store.draws import Draw
from panel.store.training import by_code, trainings

GLASS_KINDS = {
    DrawKind.CASK: GlassKind.TEST,
    DrawKind.REFERENCE: GlassKind.REFERENCE,
    DrawKind.TRIAL: GlassKind.TRIAL,
    DrawKind.MARKET: GlassKind.MARKET,
}


@dataclass
class ToldGlass:
    """What a glass of the file is, or what is wrong with it."""

    glass: LoadedGlass | None
    faults: list[CellFault]
    session: SessionState | None = None


class Sessions:
    """Finds or makes the session, seat and serving that each distinct glass belongs to."""

    def __init__(self, load: Load, names: Names, file: ScoreFile, carried: Kind) -> None:
        self.load = load
        self.names = names
        self.carried = carried
        told = {row.session for row in file.glasses if isinstance(row, GlassRow)}
        told |= {name for row in file.glasses_partly.values() if (name := _session_of(row))}
        self.trainings = by_code(trainings(load.db))
        self.states = fetch_sessions(load, told)

    def glass(self, row: GlassRow | list[CellFault]) -> ToldGlass:
        """Return the serving that a row's glass is, or what is wrong with it."""
        if not isinstance(row, GlassRow):
            return ToldGlass(None, list(row))
        faults: list[CellFault] = []
        state = self._state(row, faults)
        person, draw = self.names.person(row.assessor), self.names.draw(row)
        faults += [one for one in (person, draw) if isinstance(one, CellFault)]
        if isinstance(person, CellFault) or isinstance(draw, CellFault) or state is None:
            return ToldGlass(None, faults, state)
        if row.assessor not in state.seats and not state.held_here:
            state.seats[row.assessor] = LoadedSeat(person, row.status.knew_key, row.at)
        glass = self._glass(state, row, draw, faults)
        return ToldGlass(glass, faults, state)

    def with_faults(self, row: GlassRow) -> SessionState | None:
        """Return the session of a glass with faults: its scores go by the sheet of that."""
        state = self.states.get(_session_of(row) or "")
        if state is None or state.not_revealed or SCORE_FILES[state.kind] is not self.carried:
            return None
        return state

    def _state(self, row: GlassRow, faults: list[CellFault]) -> SessionState | None:
        state = self.states.get(row.session)
        if state is None:
            kind = kind_brought_by(self.carried)
            state = SessionState(row.session, row.held_on, kind, trainings=self.trainings)
            self.states[row.session] = state
            self.load.created.setdefault("sessions", []).append(row.session)
        if state.not_revealed:
            words = (
                f"this session is {state.not_revealed} here: its scores come from its booths, "
                "and nothing of it is loaded or saved before it is revealed"
            )
            faults.append(CellFault("session", row.session, words))
            return None
        if SCORE_FILES[state.kind] is not self.carried:
            faults.append(CellFault("session", row.session, where_to_load(state.kind)))
            return None
        if not state.first_row:
            state.first_row = row.at
            self._settle_day(state, row, faults)
        elif "held_on" in self.load.headings and row.held_on != state.held_on:
            words = f"the same session was held on {_said(state.held_on)} in row {state.first_row}"
            faults.append(CellFault("held_on", _said(row.held_on), words))
        return state

    def _settle_day(self, state: SessionState, row: GlassRow, faults: list[CellFault]) -> None:
        record = state.record
        if record is None or "held_on" not in self.load.headings or row.held_on == record.held_on:
            return
        if record.loaded and (self.load.update or record.held_on is None):
            record.held_on = state.held_on = row.held_on
            return
        words = f"session {state.name} is recorded as held on {_said(record.held_on)}"
        faults.append(CellFault("held_on", _said(row.held_on), how_to_update(words, state)))
        state.held_on = row.held_on  # said once, at its first row

    def _glass(
        self, state: SessionState, row: GlassRow, draw: Draw, faults: list[CellFault]
    ) -> LoadedGlass | None:
        kind = row.kind or state.kind_of(draw.label, row.replicate) or GLASS_KINDS[draw.kind]
        key = (row.assessor, draw.label, kind, row.replicate, row.pouring)
        glass = state.glasses.get(key)
        if glass is None:
            return self._new_glass(state, row, draw, kind, faults)
        if not glass.first_row:
            glass.first_row = row.at
            self._against_recorded(glass, row, faults)
        else:
            self._against_first(glass, row, faults)
        self._against_seat(state, row, faults)
        return glass

    def _new_glass(
        self,
        state: SessionState,
        row: GlassRow,
        draw: Draw,
        kind: GlassKind,
        faults: list[CellFault],
    ) -> LoadedGlass | None:
        if state.held_here:
            words = (
                f"session {state.name} was held here, and {row.assessor} had no such glass "
                f"({draw.label}, {kind.value}, replicate {row.replicate})"
            )
            faults.append(CellFault("sample", row.sample, words))
            return None
        self._against_seat(state, row, faults)
        if self._is_other_kind(state, row, draw, kind, faults):
            return None
        glass = LoadedGlass(
            session=state,
            assessor=row.assessor,
            draw=draw,
            code=state.code_for((draw.label, kind, row.replicate)),
            kind=kind,
            replicate=row.replicate,
            pouring=row.pouring,
            flight=row.flight,
            position=row.position,
            state=row.status,
            first_row=row.at,
        )
        state.glasses[row.assessor, draw.label, kind, row.replicate, row.pouring] = glass
        return glass

    def _is_other_kind(
        self,
        state: SessionState,
        row: GlassRow,
        draw: Draw,
        kind: GlassKind,
        faults: list[CellFault],
    ) -> bool:
        # Only as the warm-up may a sample be poured besides its numbered glasses.
        others = set(GlassKind) - {kind, GlassKind.WARM_UP}
        for other in others if kind is not GlassKind.WARM_UP else ():
            glass = state.glasses.get((row.assessor, draw.label, other, row.replicate, row.pouring))
            if glass is not None:
                where = f"row {glass.first_row}" if glass.first_row else "the record"
                words = f"{where} says {other.value} of the same glass; another one is replicate 2"
                faults.append(CellFault("kind", kind.value, words))
                return True
        return False

    def _against_seat(self, state: SessionState, row: GlassRow, faults: list[CellFault]) -> None:
        seat = state.seats.get(row.assessor)
        if seat is None or "status" not in self.load.headings:
            return
        if not seat.first_row:
            seat.first_row = row.at
        if row.status.in_training and not state.trained(row.assessor):
            words = (
                f"by the records {row.assessor} was not in training on {_said(state.held_on)}; a "
                f"lead says so first: `oakpanel training begin {row.assessor} --on DATE`"
            )
            faults.append(CellFault("status", row.status.words(), words))
        if seat.knew_key == row.status.knew_key:
            return
        if seat.record is not None and seat.first_row == row.at and self._may(state):
            seat.knew_key = seat.record.knew_key = row.status.knew_key
            return
        words = f"knew_key holds for all glasses of {row.assessor} in a session, or for none"
        faults.append(CellFault("status", row.status.words(), words))

    def _may(self, state: SessionState) -> bool:
        return self.load.update and not state.held_here

    def _against_first(self, glass: LoadedGlass, row: GlassRow, faults: list[CellFault]) -> None:
        for column, told in self._told(glass, row):
            words = f"row {glass.first_row} says {told} of the same glass"
            faults.append(CellFault(column, _said(_value(row, column)), words))

    def _against_recorded(self, glass: LoadedGlass, row: GlassRow, faults: list[CellFault]) -> None:
        for column, told in self._told(glass, row):
            if self._may(glass.session):
                glass.changed = True
                continue
            words = how_to_update(f"recorded is {told}", glass.session)
            faults.append(CellFault(column, _said(_value(row, column)), words))
        if glass.changed:
            glass.flight, glass.position, glass.state = row.flight, row.position, row.status

    def _told(self, glass: LoadedGlass, row: GlassRow) -> list[tuple[str, str]]:
        pairs: list[tuple[str, object, object]] = [
            ("flight", glass.flight, row.flight),
            ("position", glass.position, row.position),
            ("status", glass.state.status, row.status.status),
        ]
        return [
            (column, _said(before))
            for column, before, after in pairs
            if column in self.load.headings and before != after
        ]


def _session_of(row: GlassRow) -> str | None:
    """The session of a glass of which not everything could be read."""
    return getattr(row, "session", None)


def _value(row: GlassRow, column: str) -> object:
    return row.status.words() if column == "status" else getattr(row, column)


def _said(value: object) -> str:
    return "nothing" if value is None else str(value)


def how_to_update(wrong: str, state: SessionState) -> str:
    """Return what is wrong with what may be done about it: a recorded value differs."""
    if state.held_here:
        return f"{wrong}; the session was held here, so that its record stays"
    at_desk = "; Other scores in the form of one file replaces it"
    return with_way(wrong, option="; --update replaces it", at_desk=at_desk)
