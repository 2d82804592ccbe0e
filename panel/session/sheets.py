"""Pour sheet and tray labels as text, and what printing the key costs in blindness."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.figures import in_digits
from panel.kinds import SessionStatus
from panel.session.blueprint import blueprint_of
from panel.session.dose import CAUTIONS
from panel.session.found import session_at
from panel.session.kinds import HELD
from panel.session.paper import WIDTH, columns, paragraph, rule
from panel.session.pour_order import pouring_lines
from panel.session.pours import PourNeed, pour_needs
from panel.session.sets import marked_references
from panel.store.house import today_at_site
from panel.store.log import append_entry
from panel.store.sessions import PanelSession, Serving, SessionAssessor
from panel.store.site_packs import pack_it_came_in
from panel.store.who import printing_person

PRINTABLE = (
    SessionStatus.SEALED,
    SessionStatus.OPEN,
    SessionStatus.CLOSED,
    SessionStatus.REVEALED,
)
POURING = (
    "Dark or coloured glasses of one kind, lids on, all filled to the same height and at the same "
    "temperature: colour tells wood, height and warmth tell a glass poured late.",
    "Who pours does not assess, and does not stay in the room while the others nose.",
    "Millilitres are at 20 °C. Weigh the water where you can: 1 mL is 1 g.",
    "Samples may be under duty: enter them in the register that your approval asks for.",
)


@dataclass(frozen=True)
class Printing:
    """Who prints, when, and under which newest link of the log."""

    by: str
    at: datetime
    log_head: str
    costs: tuple[str, ...]


def printing_costs(db: Session, name: str, by: str) -> tuple[str, ...]:
    """Return what it costs when *by* sees the key now: sentences, none when it costs nothing.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such session, or it is not sealed yet.
    """
    session = session_at(db, name, *PRINTABLE, deed="printing a sheet")
    if session.status is SessionStatus.REVEALED or pack_it_came_in(db, session.id) is not None:
        return ()  # or the key is at home, and no sheet here tells it
    costs: list[str] = []
    if _seat_of(session, by) is not None:
        costs.append(
            f"{by} assesses this session: {by}'s scores will be kept, marked as given by somebody "
            "who knew the key, and left out of every result. Let somebody print it who does not "
            "assess (--by CODE)."
        )
    if session.status is SessionStatus.OPEN:
        costs.append("The session is open: with the key in the room it counts as not blind.")
    return tuple(costs)


def printer(db: Session, by: str | None, *, now: datetime) -> str:
    """Return who prints: the lead where nobody is named, else a lead or a pourer.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is nobody of that code; or they are neither, or have left.
    """
    return printing_person(db, by, on=today_at_site(db, now)).code


def _seat_of(session: PanelSession, code: str) -> SessionAssessor | None:
    return next((seat for seat in session.assessors if seat.person.code == code), None)


def pour_sheet(db: Session, name: str, *, now: datetime, by: str) -> str:
    """Return the pourer's sheet: the only page that tells which draw a code is.

    Who printed it goes into the log. An assessor who prints it is marked as having known the
    key; printed while the session is open, it makes the session count as not blind.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such session, or it is not sealed yet.
    """
    session, printing = print_with_key(db, name, "pour sheet printed", now=now, by=by)
    plan = blueprint_of(db, session)
    needs = pour_needs(db, plan)
    lines = [
        *sheet_heading(session, "POUR SHEET - for the pourer only", printing),
        "",
        *_reducing(session, needs),
        "",
        *pouring_lines(db, plan),
        "",
        *(line for words in (*POURING, *CAUTIONS) for line in paragraph(words, bullet="- ")),
    ]
    return "\n".join(lines) + "\n"


def print_with_key(
    db: Session, name: str, action: str, *, now: datetime, by: str
) -> tuple[PanelSession, Printing]:
    """Bear what it costs to print a sheet that gives the key away, and write down who did.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such session, or it is not sealed yet.
    """
    session = session_at(db, name, *PRINTABLE, deed="printing a sheet")
    costs = printing_costs(db, name, by)
    bear_costs(session, by)
    head = log_printing(db, session, action, now=now, by=by)
    return session, Printing(by, now, head, costs)


def bear_costs(session: PanelSession, by: str) -> None:
    """Keep what it costs that somebody sees the key: not blind, or not their scores."""
    if session.status is SessionStatus.REVEALED:
        return
    seat = _seat_of(session, by)
    if seat is not None:
        seat.knew_key = True
    if session.status is SessionStatus.OPEN:
        session.blind = False


def log_printing(db: Session, session: PanelSession, action: str, *, now: datetime, by: str) -> str:
    """Write down who printed what, and return the newest link of the log."""
    details = {
        "session": session.name,
        "stage": session.status.value,
        "printed_by_assessor": _seat_of(session, by) is not None,
        "blind": session.blind,
    }
    return append_entry(db, at=now, by=by, action=action, details=details).chain_hex


def sheet_heading(session: PanelSession, what: str, printing: Printing) -> list[str]:
    """Return the head of a sheet: what it is, who printed it, the hashes, what it cost."""
    return [
        rule("="),
        *paragraph(f"{what}. Session {session.name}, {session.held_on}"),
        *(paragraph(said) if (said := HELD[session.kind].sheet_said(session)) else ()),
        *paragraph(f"Printed by {printing.by}, {printing.at:%Y-%m-%d %H:%M} UTC."),
        f"Key SHA-256  {session.key_hash}",
        f"Log head     {printing.log_head}",
        *(line for cost in printing.costs for line in paragraph(cost, bullet="! ")),
        rule("="),
    ]


def _reducing(session: PanelSession, needs: Sequence[PourNeed]) -> list[str]:
    headings = ["draw", "cask", "% vol", "spirit mL", "water mL", "makes mL", "one glass"]
    return [
        *paragraph(
            f"1. Reduce each draw to {in_digits(session.nosing_abv, 'g')} % vol, for all "
            "glasses at once (loss "
            f"counted; {in_digits(session.pour_ml, 'g')} mL a glass):"
        ),
        *columns(headings, map(_reduced, _by_draw(needs)), (18, 10, -5, -6, -6, -6, 13)),
    ]


def _by_draw(needs: Sequence[PourNeed]) -> list[PourNeed]:
    """Return one line a draw: a draw that is warm-up glass and reference is reduced once."""
    joined: dict[str, PourNeed] = {}
    for need in needs:
        before = joined.get(need.draw)
        joined[need.draw] = need if before is None else _together(before, need)
    return list(joined.values())


def _together(one: PourNeed, other: PourNeed) -> PourNeed:
    return replace(
        one,
        glasses=one.glasses + other.glasses,
        reduced_ml=(one.reduced_ml or 0.0) + (other.reduced_ml or 0.0),
        spirit_ml=(one.spirit_ml or 0.0) + (other.spirit_ml or 0.0),
        water_ml=(one.water_ml or 0.0) + (other.water_ml or 0.0),
    )


def _reduced(need: PourNeed) -> list[str]:
    if need.spirit_ml_a_glass is None or need.water_ml_a_glass is None:
        return [need.draw, ", ".join(need.casks), "?", "?", "?", "?", "no strength"]
    return [
        need.draw,
        ", ".join(need.casks),
        in_digits(need.abv_percent, ".1f"),
        f"{need.spirit_ml:.0f}",
        f"{need.water_ml:.0f}",
        f"{need.reduced_ml:.0f}",
        f"{in_digits(need.spirit_ml_a_glass, '.1f')} + {in_digits(need.water_ml_a_glass, '.1f')}",
    ]


def tray_labels(db: Session, name: str, *, now: datetime, by: str) -> str:
    """Return one label a tray: seat, code of the assessor, codes in their order. No key.

    Who printed them goes into the log.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such session, or it is not sealed yet.
    """
    session = session_at(db, name, *PRINTABLE, deed="printing a sheet")
    head = log_printing(db, session, "tray labels printed", now=now, by=by)
    lines = sheet_heading(session, "TRAY LABELS", Printing(by, now, head, ()))
    for seat in session.assessors:
        lines += _label(db, session, seat)
    return "\n".join(lines) + "\n"


def tray_of(db: Session, session: PanelSession, seat: SessionAssessor) -> list[Serving]:
    """Return the glasses of a tray as they were first poured, in their order."""
    return list(
        db.scalars(
            select(Serving)
            .where(
                Serving.session_id == session.id,
                Serving.person_id == seat.person_id,
                Serving.pouring == 1,
            )
            .order_by(Serving.flight, Serving.position)
        )
    )


def _label(db: Session, session: PanelSession, seat: SessionAssessor) -> list[str]:
    tray = tray_of(db, session, seat)
    who = f"Seat {seat.seat}  assessor {seat.person.code}"
    title = f"Session {session.name}, {session.held_on}"
    lines = paragraph(f"{who}{title.rjust(max(len(title) + 2, WIDTH - len(who)))}")
    warm_up = [glass.code for glass in tray if glass.warm_up]
    if warm_up:
        lines += paragraph("   ".join(warm_up), bullet="Warm-up   ")
    row = "Set" if session.kind.facts.in_sets else "Flight"
    marked = marked_references(session.kind.facts, tray)
    for flight in sorted({glass.flight for glass in tray}):
        here = [g.code for g in tray if g.flight == flight and not g.warm_up]
        codes = [f"{code} (reference)" if code in marked else code for code in here]
        lines += paragraph("   ".join(codes), bullet=f"{row} {flight}  ")
    return [*lines, rule()]
