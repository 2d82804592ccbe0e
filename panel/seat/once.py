"""A deed with a number of its own: however often it is sent, it is done once."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from panel.seat.jobs import Job

if TYPE_CHECKING:
    from panel.store.booth_tray import Seat, Tray
    from panel.store.engine import Store


@dataclass(frozen=True)
class Done:
    """A deed that is on disk: since when, and the tray as it is now."""

    job: Job
    at: datetime
    tray: Tray
    repeated: bool


def perform_once(store: Store, seat: Seat, number: str, job: Job, now: datetime) -> Done:
    """Do *job* and commit it, unless it was done under this number: then tell when that was.

    Raises
    ------
    SeatTaken, WrongState, WrongGlass, BoothError, StoreError
        It is not on disk, and why.
    """
    from panel.store import booth_deeds, booth_queries

    told = hashlib.sha256(f"{number} {job!r}".encode()).hexdigest()
    with store.write() as db:
        before = booth_deeds.done_before(db, seat, number, told)
        if before is None:
            job.save(db, seat, now)
            booth_deeds.note_deed(db, seat, number, told, now)
    with store.read() as db:
        return Done(job, before or now, booth_queries.kept_tray(db, seat), before is not None)
