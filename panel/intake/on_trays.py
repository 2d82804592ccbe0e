"""Glasses on trays that a file names by their codes, to be compared with what is kept of them.

Nothing is answered by loading: a ballot comes in by one door, where it is keyed twice
(`panel.session.keyed`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from sqlalchemy import select

from panel.intake.load import Load, all_names
from panel.kinds import KindFacts, ServingStatus
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving

OUT = (ServingStatus.VOID, ServingStatus.RE_POURED)
KEYED_TWICE = "ballots from paper are keyed twice and come in by `oakpanel session key`"
"""What to do with an answer that is not kept yet."""


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
