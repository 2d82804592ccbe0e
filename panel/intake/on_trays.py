"""Glasses on trays that are keyed in by their codes: found, taken, put down."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from sqlalchemy import select

from panel.intake.load import Load, all_names
from panel.kinds import KindFacts, ServingStatus
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving, SessionAssessor

OUT = (ServingStatus.VOID, ServingStatus.RE_POURED)


class GlassRow(Protocol):
    """A row about one glass of one assessor."""

    @property
    def at(self) -> int:
        """Its row in the file."""

    @property
    def session(self) -> str:
        """The name of its session."""

    @property
    def assessor(self) -> str:
        """Whose tray the glass stands on."""

    @property
    def glass(self) -> str:
        """The code on it."""


@dataclass
class Trays:
    """The trays of the sessions that a file names; what is not there becomes a fault of its row.

    `fits` says of which kind a session has to be, `otherwise` what one of another kind lacks.
    """

    load: Load
    fits: Callable[[KindFacts], bool]
    otherwise: str
    sessions: dict[str, PanelSession | None] = field(default_factory=dict)
    trays: dict[tuple[str, str], dict[str, Serving]] = field(default_factory=dict)

    def found(self, row: GlassRow) -> tuple[PanelSession, Serving] | None:
        """Return the session and the glass of a row, or tell its fault."""
        session = self._session(row)
        if session is None:
            return None
        tray = self.tray(session, row.assessor)
        if not tray:
            words = f"{row.assessor} has no tray in session {session.name}"
            self.load.fault(row.at, "assessor", row.assessor, words)
            return None
        glass = tray.get(row.glass)
        if glass is None:
            words = f"no glass {row.glass} stands on the tray of {row.assessor}"
            self.load.fault(row.at, "glass", row.glass, words)
            return None
        return session, glass

    def _session(self, row: GlassRow) -> PanelSession | None:
        if row.session not in self.sessions:
            asked = select(PanelSession).where(PanelSession.name == row.session)
            self.sessions[row.session] = self.load.db.scalar(asked)
        session = self.sessions[row.session]
        if session is None:
            names = all_names(self.load.db, PanelSession.name)
            self.load.unknown(row.at, "session", row.session, "session", names)
        elif not self.fits(session.kind.facts):
            words = f"this session is {session.kind.facts.scored}: {self.otherwise}"
            self.load.fault(row.at, "session", row.session, words)
            return None
        return session

    def tray(self, session: PanelSession, assessor: str) -> dict[str, Serving]:
        """Return the glasses of somebody's tray, by code."""
        key = (session.name, assessor)
        if key not in self.trays:
            asked = (
                select(Serving)
                .join(Person, Person.id == Serving.person_id)
                .where(Serving.session_id == session.id, Person.code == assessor)
                .where(Serving.status.not_in(OUT))
                .order_by(Serving.pouring)
            )
            self.trays[key] = {glass.code: glass for glass in self.load.db.scalars(asked)}
        return self.trays[key]

    def put_down(self, session: PanelSession, assessor: str, glass: Serving) -> None:
        """Take a glass up, where it was not, and put it down."""
        if glass.taken_at is None:
            taken = [each.taken_order or 0 for each in self.tray(session, assessor).values()]
            glass.taken_at, glass.taken_order = self.load.now, max(taken) + 1
        glass.finished_at = self.load.now

    def finish(self, session: PanelSession, assessor: str) -> None:
        """Mark that somebody is done, once all their glasses are."""
        glasses = list(self.tray(session, assessor).values())
        if glasses and all(glass.finished_at is not None for glass in glasses):
            chair = self.load.db.get(SessionAssessor, (session.id, glasses[0].person_id))
            if chair is not None:
                chair.finished_at = self.load.now
