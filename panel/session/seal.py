"""Sealing: codes drawn, trays laid, the key's hash fixed before a glass is poured."""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import KeyChanged, PlanRefused
from panel.kinds import SessionStatus
from panel.session.blueprint import Blueprint, blueprint_of
from panel.session.care import faults_of_session
from panel.session.codes import generator, shuffled
from panel.session.design import Design
from panel.session.found import session_at
from panel.session.plan_parts import seat_fault
from panel.store.draws import Draw
from panel.store.key import KeyRow, KeySecret
from panel.store.log import append_entry, canonical, digest_of
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving

KEY_FORM = 2
"""How much of a glass the hash of a key holds: in form 1 the filling, now cask and parts too."""
SHARED_TRAY = ""
"""The tray of a key row where all assessors read the same codes."""


@dataclass(frozen=True)
class Sealed:
    """What sealing fixed: the key's SHA-256 and the newest link of the log."""

    session: str
    key_hash: str
    log_head: str


def seal_session(db: Session, name: str, *, now: datetime, by: str) -> Sealed:
    """Fix codes, orders and key of a draft. From here on its plan cannot change.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such draft.
    PlanRefused
        The plan can no longer be served as it was written.
    """
    session = session_at(db, name, SessionStatus.DRAFT, deed="sealing")
    plan = blueprint_of(db, session)
    _check_again(db, plan)
    design = plan.design()
    _write_key(db, plan, design)
    _write_servings(db, plan, design)
    # Another tasting of that day may have been sealed since this one was planned.
    _refuse(session, faults_of_session(db, session, session.held_on))
    session.key_hash = key_hash(db, session.id)
    session.status, session.sealed_at = SessionStatus.SEALED, now
    details = {"session": name, "key_hash": session.key_hash, "rehearsal": session.rehearsal}
    kept = {"sealed": {str(session.id): {"hash": session.key_hash, "form": KEY_FORM}}}
    entry = append_entry(db, at=now, by=by, action="session sealed", details=details, kept=kept)
    return Sealed(name, session.key_hash, entry.chain_hex)


def _check_again(db: Session, plan: Blueprint) -> None:
    """Refuse what has changed since the plan was written: people leave, records are corrected."""
    held_on, kind = plan.session.held_on, plan.session.kind
    faults = [
        f"{seat.person.code} {fault}"
        for seat in plan.session.assessors
        if held_on is not None and (fault := seat_fault(db, seat.person, kind, held_on))
    ]
    faults += [
        f"Draw {liquid.label!r} no longer has a strength."
        for liquid in plan.liquids.values()
        if liquid.strength is None
    ]
    _refuse(plan.session, faults)


def _refuse(session: PanelSession, faults: list[str]) -> None:
    if faults:
        listed = "\n".join(f"  - {fault}" for fault in faults)
        raise PlanRefused(f"Session {session.name!r} was not sealed; plan it again.\n{listed}")


def _write_key(db: Session, plan: Blueprint, design: Design) -> None:
    session = plan.session
    secret = db.get_one(KeySecret, session.id)
    secret.nonce_hex = secrets.token_hex(16)
    rows = [
        KeyRow(
            session_id=session.id,
            tray=tray,
            code=code,
            draw_id=glass.draw_id,
            kind=glass.kind,
            replicate=glass.replicate,
        )
        for tray, codes in _codes_by_tray(plan, design)
        for glass, code in zip(design.glasses, codes, strict=True)
        if code
    ]
    db.add_all(shuffled(rows, generator(plan.seed, "key rows")))
    db.flush()


def _codes_by_tray(plan: Blueprint, design: Design) -> Iterator[tuple[str, tuple[str, ...]]]:
    if not plan.session.codes_per_assessor:
        yield SHARED_TRAY, design.codes[0]
        return
    for seat, codes in zip(plan.session.assessors, design.codes, strict=True):
        yield seat.person.code, codes


def _write_servings(db: Session, plan: Blueprint, design: Design) -> None:
    """Write the glasses in random order: neither number nor order of the rows says anything."""
    rows: list[Serving] = []
    for seat, tray, codes in zip(plan.session.assessors, design.trays, design.codes, strict=True):
        for flight, position, glass in _places(design, tray):
            rows.append(
                Serving(
                    session_id=plan.session.id,
                    person_id=seat.person_id,
                    flight=flight,
                    position=position,
                    code=codes[glass],
                    warm_up=glass == design.warm_up,
                )
            )
    db.add_all(shuffled(rows, generator(plan.seed, "servings")))
    db.flush()


def _places(design: Design, tray: tuple[tuple[int, ...], ...]) -> Iterator[tuple[int, int, int]]:
    """Give flight, position and glass; positions count on through the flights, 0 is the warm-up."""
    if design.warm_up is not None:
        yield 1, 0, design.warm_up
    position = 0
    for flight, row in enumerate(tray, start=1):
        for glass in row:
            position += 1
            yield flight, position, glass


def key_hash(db: Session, session_id: int, form: int = KEY_FORM) -> str:
    """Return SHA-256 over the nonce and the canonical key: codes, draws, orders, secret bits.

    A session is checked in the form in which it was sealed.

    Raises
    ------
    KeyChanged
        Secret bits or nonce are gone, so no hash can be made.
    """
    secret = db.get(KeySecret, session_id)
    if secret is None or secret.nonce_hex is None:
        raise KeyChanged("The key of this session is gone: it was never sealed, or taken away.")
    body = {
        "session": db.get_one(PanelSession, session_id).name,
        "secret": secret.seed_hex,
        "key": _key_lines(db, session_id, form),
        "orders": _order_lines(db, session_id),
    }
    return digest_of(secret.nonce_hex, canonical(body))


def _key_lines(db: Session, session_id: int, form: int) -> list[list[object]]:
    """Return the key down to the cask behind each draw, so that none can be exchanged."""
    people = {person.code: person.id for person in db.scalars(select(Person))}
    rows = db.scalars(select(KeyRow).where(KeyRow.session_id == session_id))
    lines: list[list[object]] = [
        [
            people.get(row.tray, row.tray),
            row.code,
            row.kind.value,
            row.replicate,
            row.draw.label,
            row.draw.filling.label if row.draw.filling else "",
            *(_wood_lines(row.draw) if form >= KEY_FORM else ()),
        ]
        for row in rows
    ]
    return sorted(lines, key=str)


def _wood_lines(draw: Draw) -> list[object]:
    """Return the cask of a draw, and what casks a blend was mixed of in which millilitres."""
    cask = draw.filling.cask.number if draw.filling else ""
    parts = [
        [part.filling.label, part.filling.cask.number, part.millilitres] for part in draw.parts
    ]
    return [cask, sorted(parts, key=str)]


def _order_lines(db: Session, session_id: int) -> list[list[object]]:
    """Return the trays as they were laid; glasses poured again later are not part of it.

    People stand here by number: the hash still fits when one of them is given a pseudonym.
    """
    laid = (Serving.person_id, Serving.flight, Serving.position, Serving.code, Serving.warm_up)
    rows = db.execute(select(*laid).where(Serving.session_id == session_id, Serving.pouring == 1))
    return sorted((list(row) for row in rows), key=str)
