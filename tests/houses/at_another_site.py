"""A sealed session of any kind, seats of it sent to another site, nosed there and returned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy import select

from panel.kinds import Fault, SessionKind, Task
from panel.session.elsewhere.joining import Joined, join_return
from panel.session.elsewhere.opening import Opened, open_pack
from panel.session.elsewhere.packing import Packed, pack_session
from panel.session.elsewhere.returning import Returned, return_session
from panel.session.elsewhere.sealed_file import read_pack, read_return
from panel.session.passing_asked import PassingAsked
from panel.session.plan import plan_session
from panel.session.plan_parts import SessionPlan
from panel.session.seal import seal_session
from panel.session.sets import GIVEN, set_of
from panel.session.stages import close_session, open_session
from panel.store import booth_queries as booth
from panel.store.booth_lines import tables_of
from panel.store.booth_tray import Seat, Tray, second_of
from panel.store.engine import Store
from panel.store.opening import make_database, open_store
from panel.store.own_words import OwnWord
from panel.store.sessions import FaultMark, LeadCall, PanelSession, Serving, ServingNote
from tests.conftest import FIXED_NOW
from tests.houses.in_sets import set_plan
from tests.houses.staged import stage_plan
from tests.houses.to_pass import PARCEL, build_to_pass
from tests.houses.to_plan import build_to_plan, plan
from tests.houses.traced import BURST, SECONDS, trace_plan

HOME_LEAD, SITE_LEAD, SITE = "L1", "S1", "Quayside"
AT = FIXED_NOW + timedelta(days=2)
THERE = ("A2", "A3")


def build_home(store: Store, kind: SessionKind, *, sealed: bool = True) -> SessionPlan:
    """Write a house with a session of a kind, sealed: A1 sits at home, A2 and A3 may go away."""
    people = ("A1", *THERE)
    if kind.facts.passes:
        build_to_pass(store, FIXED_NOW, casks=5)
        held = plan(
            name="evening",
            draws=(),
            descriptors=(),
            assessors=people,
            reference=None,
            warm_up=None,
            kind=kind,
            passing=PassingAsked(parcel=PARCEL),
        )
    else:
        build_to_plan(store, casks=4)
        if kind.facts.in_sets:
            held = set_plan(kind, "evening", assessors=people, replicates=1)
        elif kind.facts.traced:
            held = trace_plan("evening", assessors=people)
        elif kind.facts.staged:
            held = stage_plan("evening", assessors=people)
        else:
            lines = () if kind.facts.own_lines else ("wet slate", "bonfire")
            draws = ("D1", "D2")
            held = plan(name="evening", draws=draws, descriptors=lines, assessors=people, kind=kind)
    with store.write() as db:
        plan_session(db, held, now=FIXED_NOW, by=HOME_LEAD)
    if sealed:
        seal(store)
    return held


def seal(store: Store) -> None:
    """Seal it."""
    with store.write() as db:
        seal_session(db, "evening", now=FIXED_NOW, by=HOME_LEAD)


def packed(
    store: Store, folder: Path, people: Sequence[str] = THERE, site: str = SITE
) -> tuple[Path, Packed]:
    """Send some seats away; return the file."""
    with store.write() as db:
        made = pack_session(
            *(db, "evening", people), site=site, water="spring at home", now=FIXED_NOW, by=HOME_LEAD
        )
    path = folder / f"{site}.pack"
    path.write_bytes(made.contents)
    return path, made


@cache
def _empty() -> bytes:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "empty.sqlite"
        make_database(str(path)).close()
        return path.read_bytes()


def opened(folder: Path, pack: Path, name: str = "there") -> tuple[Store, Opened]:
    """Open a pack in a database of its own."""
    path = folder / f"{name}.sqlite"
    path.write_bytes(_empty())
    there = open_store(str(path))
    read = read_pack(pack)
    with there.write() as db:
        done = open_pack(
            *(db, read), received_ml=read.body.sent_ml - 5, now=AT, by=None, lead=SITE_LEAD
        )
    return there, done


def nosed(store: Store, people: Sequence[str] = THERE, by: str = SITE_LEAD) -> None:
    """Open the session and answer every glass of some people as a booth does."""
    with store.write() as db:
        open_session(db, "evening", now=AT, by=by)
    for number, who in enumerate(people, start=1):
        answer_tray(store, who, number)


def answer_tray(store: Store, who: str, number: int = 1, at: datetime = AT) -> None:
    """Answer every glass of one tray."""
    with store.write() as db:
        seat = booth.take_seat(db, "evening", who, now=at)
    with store.read() as db:
        tray = booth.tray(db, seat)
    facts = tray.held_as.facts
    if facts.own_lines:
        for word in (f"tar {number}", "peel"):
            with store.write() as db:
                booth.name_word(db, seat, word, at)
    if facts.in_sets:
        _answer_sets(store, seat, tray, at)
        return
    if facts.traced:
        _answer_traces(store, seat, tray, at)
        return
    for place, glass in enumerate(tray.glasses):
        with store.write() as db:
            taken = booth.take_glass(db, seat, glass.code, at + timedelta(seconds=place))
            lines = booth.tray(db, seat).lines
            if not facts.passes:
                values = {line.version_id: float(10 * number + place) for line in lines}
                booth.save_scores(db, seat, taken, values, at)
                booth.save_scores(db, seat, taken, {lines[0].version_id: 50.0}, at)
            if place == 0:
                booth.mark_fault(db, seat, taken, Fault.SULPHUR, at)
                booth.save_note(db, seat, taken, "cellar, then smoke", at)
            booth.finish_glass(db, seat, taken, at + timedelta(seconds=place + 1))


def _answer_sets(store: Store, seat: Seat, tray: Tray, at: datetime) -> None:
    for number in sorted({glass.flight for glass in tray.glasses}):
        glasses = set_of(tray, number).glasses
        if all(glass.finished_at for glass in glasses):
            continue
        # Ranked in the order of their places; else the first ones belong together.
        given = GIVEN.get(tray.held_as.facts.task or Task.RANK, range(1, 1 + len(glasses)))
        places = {glass.serving_id: place for glass, place in zip(glasses, given, strict=True)}
        with store.write() as db:
            booth.answer_set(db, seat, number, places, at)


def _answer_traces(store: Store, seat: Seat, tray: Tray, at: datetime) -> None:
    for glass in tray.glasses:
        values: dict[int, float | None] = {}
        for number, (second, key) in enumerate(zip(SECONDS, BURST, strict=True), start=1):
            values |= {number: float(key), second_of(number): float(second)}
        with store.write() as db:
            booth.save_glass(db, seat, glass.code, values, taken_at=at, finished_at=at)


def returned(store: Store, folder: Path, name: str = "back") -> tuple[Path, Returned]:
    """Close it at the other site and write the return."""
    with store.write() as db:
        close_session(db, "evening", now=AT, by=SITE_LEAD)
    with store.write() as db:
        done = return_session(db, "evening", destroyed_ml=20.0, now=AT, by=SITE_LEAD)
    path = folder / f"{name}.return"
    path.write_bytes(done.contents)
    return path, done


def joined(store: Store, path: Path, without: Sequence[str] = ()) -> Joined:
    """Join it at home."""
    with store.write() as db:
        return join_return(db, read_return(path), without=without, now=AT, by=HOME_LEAD)


@dataclass(frozen=True)
class Round:
    """Home and the other site, with the two files between them; home is open."""

    home: Store
    there: Store
    pack: Path
    back: Path


def whole_round(home: Store, folder: Path, kind: SessionKind) -> Round:
    """Send, nose, return; home is open and has not joined it yet."""
    build_home(home, kind)
    pack, _ = packed(home, folder)
    there, _ = opened(folder, pack)
    nosed(there)
    back, _ = returned(there, folder)
    with home.write() as db:
        open_session(db, "evening", now=AT, by=HOME_LEAD)
    return Round(home, there, pack, back)


def said(store: Store, people: Sequence[str] = THERE) -> dict[str, Any]:
    """Return all that stands of some trays, by what both sites know of it."""
    with store.read() as db:
        session = db.scalars(select(PanelSession).where(PanelSession.name == "evening")).one()
        tables = tables_of(session)
        seats = {row.person_id: row for row in session.assessors if row.person.code in people}
        names = {row.id: (row.place, row.word) for row in db.scalars(select(OwnWord))}
        places = {row.descriptor_version_id: row.place for row in session.descriptors}
        sheet = places if session.kind.facts.scored_on_lines else {}
        line_of = {**names} if session.kind.facts.own_lines else sheet
        found: dict[str, Any] = {
            row.person.code: (row.finished_at, row.knew_key) for row in seats.values()
        }
        for glass in db.scalars(select(Serving).where(Serving.person_id.in_(seats))):
            note = db.get(ServingNote, glass.id)
            given = {
                line_of.get(line, line): (row.value, row.given_at)
                for _, line, row in tables.given(db, [glass.id])
            }
            changes = [
                (line_of.get(line, line), row.value, row.changed_at, row.by_code)
                for line, row in tables.changed(db, glass.id)
            ]
            faults = select(FaultMark).where(FaultMark.serving_id == glass.id)
            found[f"{glass.person.code} {glass.code} {glass.pouring}"] = (
                *(glass.flight, glass.position, glass.warm_up, glass.status, glass.read_as),
                *(glass.taken_order, glass.taken_at, glass.finished_at, given, changes),
                {(row.fault, row.marked_at) for row in db.scalars(faults)},
                (note.text, note.written_at) if note else None,
            )
        calls = select(LeadCall).where(LeadCall.person_id.in_(seats))
        found["calls"] = [(row.reason, row.called_at) for row in db.scalars(calls)]
        return found
