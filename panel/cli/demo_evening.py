"""The demo's evening: planned, sealed and poured; nosed at real booths without hands; revealed.

What each assessor will say of each liquid stands in a file. Which liquid a code is, only the key
tells; it is read here as the pourer reads it, to put the right words into the right glasses.
"""

from __future__ import annotations

import asyncio
import csv
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from panel.cli.invocation import writing_to
from panel.clock import Clock
from panel.errors import OakpanelError

if TYPE_CHECKING:
    from panel.session.stages import Revealed
    from panel.store.booth_tray import Seat
    from panel.store.engine import Store

LEAD, POURER, PIN = "Heron", "Willow", "2846"
EVENING = "night-31"
TRY_OUT = "your-turn"
TRY_OUT_AT = "Rowan"
TRY_OUT_PAUSE_S = 15
TRY_OUT_SEED = 20_261_125
MINUTES_A_GLASS = 4

Liquid = tuple[str, str, int]
"""A sample, the kind of glass it is in, and the replicate."""
Sheet = Mapping[str, int]


@dataclass(frozen=True)
class Script:
    """Who comes, what is poured, and what each will say of it, line by line."""

    assessors: tuple[str, ...]
    draws: tuple[str, ...]
    reference: str
    duplicate: str
    descriptors: tuple[str, ...]
    says: Mapping[tuple[str, Liquid], Sheet]


@dataclass(frozen=True)
class Held:
    """What came of the evening."""

    revealed: Revealed
    n_scores: int
    pour_sheet: str
    tray_labels: str


def read_script(path: Path) -> Script:
    """Read the file of what will be said."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    descriptors = tuple(rows[0])[4:]
    liquids = dict.fromkeys((r["sample"], r["kind"], int(r["replicate"])) for r in rows)
    return Script(
        assessors=tuple(dict.fromkeys(row["assessor"] for row in rows)),
        draws=tuple(dict.fromkeys(s for s, kind, _ in sorted(liquids) if kind == "test")),
        reference=next(s for s, kind, _ in liquids if kind == "reference"),
        duplicate=next(s for s, kind, n in liquids if kind == "test" and n == 2),
        descriptors=descriptors,
        says={
            (r["assessor"], (r["sample"], r["kind"], int(r["replicate"]))): {
                name: int(r[name]) for name in descriptors
            }
            for r in rows
        },
    )


def hold_evening(store: Store, script: Script, now: datetime, tell: Callable[[str], None]) -> Held:
    """Hold the whole session as of an hour ago, so that it is over now."""
    from panel.session.sheets import pour_sheet, tray_labels
    from panel.session.stages import open_session

    start = now - timedelta(minutes=20 + MINUTES_A_GLASS * (len(script.draws) + 2))
    printed, opened = start + timedelta(minutes=5), start + timedelta(minutes=15)
    prepare_evening(store, script, start)
    with writing_to(store) as db:
        sheet = pour_sheet(db, EVENING, now=printed, by=POURER)
    with writing_to(store) as db:
        labels = tray_labels(db, EVENING, now=printed, by=POURER)
    with writing_to(store) as db:
        open_session(db, EVENING, now=opened, by=LEAD)
    said = words_by_code(store, script)
    tell(f"{len(script.assessors)} booths open, one glass each by keys")
    with own_streams():
        seats = asyncio.run(nose_first_glasses(store, said, running_from(opened)))
    tell("the other glasses")
    n_scores = nose_the_rest(store, seats, said, opened)
    return Held(close_and_reveal(store, now), n_scores, sheet, labels)


def prepare_evening(store: Store, script: Script, start: datetime) -> None:
    """Plan and seal: from here on codes and key are fixed."""
    from panel.session.plan import SessionPlan, plan_session
    from panel.session.seal import seal_session

    plan = SessionPlan(
        name=EVENING,
        assessors=script.assessors,
        draws=script.draws,
        descriptors=script.descriptors,
        reference=script.reference,
        duplicates=(script.duplicate,),
    )
    with writing_to(store) as db:
        plan_session(db, plan, now=start, by=LEAD)
    with writing_to(store) as db:
        seal_session(db, EVENING, now=start + timedelta(minutes=2), by=LEAD)


def running_from(moment: datetime) -> Clock:
    """Return a clock that starts at *moment* and runs."""
    from panel.clock import utc_now

    started = utc_now()
    return lambda: moment + (utc_now() - started)


def words_by_code(store: Store, script: Script) -> dict[str, dict[str, Sheet]]:
    """Return by assessor and code what will be said."""
    from panel.session.pours import poured_by_code

    with store.read() as db:
        poured = poured_by_code(db, EVENING)
    return {
        who: {code: script.says[who, liquid] for code, liquid in poured.items()}
        for who in script.assessors
    }


@contextmanager
def own_streams() -> Iterator[None]:
    """Keep stdout and stderr: booths that run at once give them back in the wrong order."""
    streams = sys.stdout, sys.stderr
    try:
        yield
    finally:
        sys.stdout, sys.stderr = streams


async def nose_first_glasses(
    store: Store, said: Mapping[str, Mapping[str, Sheet]], clock: Clock
) -> list[Seat]:
    """Sit everybody down at a booth of their own, all at once, for the first glass."""
    booths = [nose_one(store, who, words, clock) for who, words in said.items()]
    return await asyncio.gather(*booths)


async def nose_one(store: Store, who: str, said: Mapping[str, Sheet], clock: Clock) -> Seat:
    """Sign in at a real booth, take the first glass, set every line, put it down: keys only."""
    from panel.booth.app import BoothApp
    from panel.booth.hands import nose_by_keys, sign_in_by_keys
    from panel.session.scoring import planned_next

    app = BoothApp(store, session=EVENING, clock=clock)
    async with app.run_test(size=(80, 24)):
        await sign_in_by_keys(app, who, PIN)
        first = planned_next(app.tray_now)
        if first is None or app.seat is None:
            raise OakpanelError(f"{who} has no glass in {EVENING}; run `oakpanel demo` again.")
        await nose_by_keys(app, first.code, said[first.code])
        return app.seat


def nose_the_rest(
    store: Store,
    seats: list[Seat],
    said: Mapping[str, Mapping[str, Sheet]],
    opened: datetime,
    *,
    most: int | None = None,
) -> int:
    """Save every other glass through the function that the booth saves with; count all scores.

    With `most` only so many glasses of each tray, from its start.
    """
    from panel.session.scoring import poured
    from panel.store.booth_queries import save_glass, tray

    count = 0
    for seat in seats:
        with store.read() as db:
            sheet = tray(db, seat)
        ids = {line.name: line.version_id for line in sheet.lines}
        for place, glass in enumerate(poured(sheet)[:most]):
            count += len(ids)
            if glass.finished_at is not None:
                continue
            taken = opened + timedelta(minutes=MINUTES_A_GLASS * place)
            values = {ids[name]: float(n) for name, n in said[seat.code][glass.code].items()}
            down = taken + timedelta(seconds=55)
            with writing_to(store) as db:
                save_glass(db, seat, glass.code, values, taken_at=taken, finished_at=down)
    return count


def close_and_reveal(store: Store, now: datetime) -> Revealed:
    """Close the session and open the key."""
    from panel.session.stages import close_session, reveal_session

    with writing_to(store) as db:
        close_session(db, EVENING, now=now - timedelta(minutes=2), by=LEAD)
    with writing_to(store) as db:
        return reveal_session(db, EVENING, now=now, by=LEAD)


def open_try_out(store: Store, script: Script, now: datetime) -> tuple[str, ...]:
    """Leave a small rehearsal open for whoever reads the demo; return the codes of its tray."""
    from panel.session.plan import SessionPlan, plan_session
    from panel.session.seal import seal_session
    from panel.session.stages import open_session

    plan = SessionPlan(
        name=TRY_OUT,
        assessors=(TRY_OUT_AT,),
        draws=script.draws[:3],
        descriptors=script.descriptors[:5],
        duplicates=(),
        pause_s=TRY_OUT_PAUSE_S,
        seed=TRY_OUT_SEED,
    )
    with writing_to(store) as db:
        plan_session(db, plan, now=now, by=LEAD)
    with writing_to(store) as db:
        seal_session(db, TRY_OUT, now=now, by=LEAD)
    with writing_to(store) as db:
        open_session(db, TRY_OUT, now=now, by=LEAD)
    return tray_codes(store)


def tray_codes(store: Store) -> tuple[str, ...]:
    """Return the codes of the rehearsal's tray in their order."""
    from panel.session.pours import tray_codes as codes_of

    with store.read() as db:
        return codes_of(db, TRY_OUT)
