"""The booth's way to the records: each call runs in a thread and ends in one message.

The database code is imported inside, so that the sign-in stands before it is loaded.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from textual.message import Message

from panel.clock import Clock, Stopwatch, stopwatch
from panel.errors import BoothError, NoneOpen, OakpanelError
from panel.seat.jobs import Job, perform

if TYPE_CHECKING:
    from panel.store.booth_tray import Seat, Tray
    from panel.store.engine import Store


@dataclass
class Opened(Message):
    """The records are open."""

    session: str


@dataclass
class Waits(Message):
    """No session is open yet that this booth is for."""

    words: str


@dataclass
class NotOpened(Message):
    """There are no records to work on."""

    error: OakpanelError


@dataclass
class SignedIn(Message):
    """Code and PIN fitted."""

    seat: Seat
    tray: Tray


@dataclass
class NotSignedIn(Message):
    """Code and PIN did not fit, or the session is not open."""

    error: OakpanelError


@dataclass
class Kept(Message):
    """A job is on disk; the tray as it is then."""

    job: Job
    tray: Tray
    at: datetime


@dataclass
class NotKept(Message):
    """A job is not on disk."""

    job: Job
    error: OakpanelError


class Records:
    """One session's records, opened late and used from threads, one call at a time."""

    def __init__(
        self,
        store: Store | Callable[[], Store],
        session: str | None,
        clock: Clock,
        seconds: Stopwatch = stopwatch,
    ) -> None:
        self._opener: Callable[[], Store] = store if callable(store) else lambda: store
        self.named = session
        self.session = session
        self.clock, self.seconds = clock, seconds
        self._held: Store | None = None
        self._store: Store | None = None

    @property
    def are_open(self) -> bool:
        """Say whether somebody can sign in."""
        return self._store is not None

    @property
    def store(self) -> Store:
        """Return the open database."""
        if self._store is None:
            raise BoothError("The records are not open yet.")
        return self._store

    def open(self) -> Message:
        """Open the database and find the session; which one is looked up anew if none was named.

        A booth may be opened before its session: then it holds the database only, and waits.
        """
        first = self._held is None
        try:
            store = self._held = self._held or self._opener()
            self.session = self._which(store)
        except OakpanelError as error:
            if first and not isinstance(error, NoneOpen):
                return NotOpened(error)
            self._store, self.session = None, None
            return Waits(str(error))
        self._store = store
        return Opened(self.session)

    def _which(self, store: Store) -> str:
        """Find the session; one that this booth was for stays so while it is open."""
        from panel.store.booth_queries import booth_session, open_sessions

        with store.read() as db:
            if self.named is None and self.session in open_sessions(db):
                return str(self.session)
            return booth_session(db, self.named)

    def sign_in(self, code: str, pin: str) -> Message:
        """Check code and PIN and take the seat."""
        from panel.store import booth_queries

        now = self.clock()
        try:
            seat = booth_queries.sign_in(
                self.store,
                self.session or "",
                code,
                pin,
                now=now,
                place=_this_place(),
            )
            with self.store.read() as db:
                return SignedIn(seat, booth_queries.tray(db, seat))
        except OakpanelError as error:
            return NotSignedIn(error)

    def perform(self, job: Job, seat: Seat) -> Message:
        """Do one job and commit it."""
        now = self.clock()
        try:
            return Kept(job, perform(self.store, seat, job, now), now)
        except OakpanelError as error:
            return NotKept(job, error)

    def leave(self, seat: Seat) -> None:
        """End a seat that nobody sits at any more; what cannot be written the next sign-in ends."""
        from panel.seat import arriving

        with suppress(OakpanelError):
            arriving.leave(self.store, seat, self.clock())


def _this_place() -> str:
    import platform

    return platform.node()
