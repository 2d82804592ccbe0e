"""How long a booth holds the write lock for one score, and how long the key takes until it is kept.

Run: .venv/bin/python -m tests.bench.bench_lock_time [PAIRS]

The tray read under the lock against the tray read after the commit; in turns on one session, so
that whatever else the machine does falls on both. Medians in milliseconds. Times are of this
machine while it runs.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter

from sqlalchemy import event, select

from panel.seat.jobs import KeepScores, perform
from panel.session.plan import plan_session
from panel.session.seal import seal_session
from panel.session.stages import open_session
from panel.store import booth_queries
from panel.store.booth_tray import Seat
from panel.store.engine import WRITES, Store
from panel.store.opening import make_database
from panel.store.sessions import Serving
from tests.houses.to_plan import furnish, plan

NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)
Perform = Callable[[Store, Seat, KeepScores, datetime], object]


def under_the_lock(store: Store, seat: Seat, job: KeepScores, now: datetime) -> object:
    """Keep a job and read the tray before the commit."""
    with store.write() as db:
        job.save(db, seat, now)
        db.flush()
        db.expire_all()
        return booth_queries.tray(db, seat)


class LockClock:
    """Times from the begin of a writing transaction to its commit."""

    def __init__(self, store: Store) -> None:
        self.since, self.held_s = 0.0, 0.0
        event.listen(store.engine, "begin", self._begin)
        event.listen(store.engine, "commit", self._commit)

    def _begin(self, connection: object) -> None:
        options = connection.get_execution_options()  # type: ignore[attr-defined]
        self.since = perf_counter() if options.get(WRITES) else 0.0

    def _commit(self, _connection: object) -> None:
        # Called just before the commit itself, which both ways take alike.
        if self.since:
            self.held_s = perf_counter() - self.since


def evening(folder: Path) -> tuple[Store, Seat, int, list[int]]:
    """Return a house with an open session, a seat in it, a glass in hand and its lines."""
    store = make_database(str(folder / "panel.sqlite"))
    with store.write() as db:
        furnish(db)
        plan_session(db, plan(), now=NOW, by="L1")
        seal_session(db, "spring", now=NOW, by="L1")
        open_session(db, "spring", now=NOW, by="L1")
    with store.write() as db:
        code = db.scalar(select(Serving.person_id).order_by(Serving.id).limit(1))
        who = db.scalars(select(Serving).where(Serving.person_id == code)).first()
        assert who is not None
        seat = booth_queries.take_seat(db, "spring", who.person.code, now=NOW)
        tray = booth_queries.tray(db, seat)
        first = min(tray.glasses, key=lambda glass: (glass.flight, glass.position))
        glass = booth_queries.take_glass(db, seat, first.code, NOW)
    return store, seat, glass, [line.version_id for line in tray.lines]


def main(pairs: int) -> None:
    """Print both ways side by side."""
    ways: dict[str, Perform] = {"under the lock": under_the_lock, "after the commit": perform}
    held: dict[str, list[float]] = {name: [] for name in ways}
    whole: dict[str, list[float]] = {name: [] for name in ways}
    with TemporaryDirectory() as folder:
        store, seat, glass, lines = evening(Path(folder))
        clock = LockClock(store)
        for turn in range(pairs):
            for place, (name, way) in enumerate(ways.items()):
                value = (2 * turn + place) % 100  # a score that does not change is not written
                job = KeepScores(glass, {lines[turn % len(lines)]: value})
                start = perf_counter()
                way(store, seat, job, NOW + timedelta(seconds=turn))
                whole[name].append(perf_counter() - start)
                held[name].append(clock.held_s)
        store.close()
    for name in ways:
        print(
            f"{name:17} lock held {1000 * median(held[name]):5.2f} ms, "
            f"key to kept {1000 * median(whole[name]):5.2f} ms"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
