"""The order of pouring on the pourer's sheet: which draw is which code, and on whose trays."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.kinds import GlassKind
from panel.session.blueprint import Blueprint
from panel.session.orders import peat_class
from panel.session.paper import columns, paragraph
from panel.store.key import KeyRow
from panel.store.sessions import Serving, SessionAssessor

PEAT_WORDS = ("unpeated", "lightly peated", "medium peated", "heavily peated")


def pouring_lines(db: Session, plan: Blueprint) -> list[str]:
    """Return the part of the pour sheet that tells what goes into which glass, and whose."""
    strongest = max(_peat(plan, glass.draw_id) for glass in plan.glasses)
    trays = trays_by_code(db, plan)
    differ = len(set(trays.values())) > 1
    codes = f"every code goes to {len(plan.session.assessors)} trays"
    if plan.session.codes_per_assessor:
        codes, differ = "every tray has its own codes", False
    elif differ:
        codes = "seats are those whose tray it goes to"
    words = (
        f"2. Pour in this order, from the least to the most peated ({PEAT_WORDS[strongest]} at the "
        f"most), a clean measure for each draw; {codes}:"
    )
    headings = ["code", "draw", "cask", "what it is", "peat"]
    rows = [_poured(plan, row) for row in key_rows(db, plan)]
    if not differ:
        return [*paragraph(words), *columns(headings, rows, (13, 16, 8, 18, 14))]
    rows = [[*poured[:4], ", ".join(map(str, trays.get(poured[0], ())))] for poured in rows]
    return [*paragraph(words), *columns([*headings[:4], "seats"], rows, (5, 16, 8, 18, 22))]


def trays_by_code(db: Session, plan: Blueprint) -> dict[str, tuple[int, ...]]:
    """Return the seats on whose trays each code stands, as the trays were laid."""
    rows = (
        select(Serving.code, SessionAssessor.seat)
        .join(
            SessionAssessor,
            (SessionAssessor.session_id == Serving.session_id)
            & (SessionAssessor.person_id == Serving.person_id),
        )
        .where(Serving.session_id == plan.session.id, Serving.pouring == 1)
        .order_by(SessionAssessor.seat)
    )
    found: dict[str, tuple[int, ...]] = {}
    for code, seat in db.execute(rows):
        found[code] = (*found.get(code, ()), seat)
    return found


def key_rows(db: Session, plan: Blueprint) -> list[KeyRow]:
    """Return the key in the order of pouring; warm-up glasses stand first whatever their peat."""
    rows = db.scalars(select(KeyRow).where(KeyRow.session_id == plan.session.id))
    return sorted(
        rows,
        key=lambda row: (
            row.kind is not GlassKind.WARM_UP,
            _peat(plan, row.draw_id),
            row.draw.label,
            row.replicate,
            row.tray,
        ),
    )


def _peat(plan: Blueprint, draw_id: int) -> int:
    return peat_class(plan.liquids[draw_id].phenol_ppm or 0.0)


def _poured(plan: Blueprint, row: KeyRow) -> list[str]:
    liquid = plan.liquids[row.draw_id]
    what = row.kind.value.replace("_", "-")
    if row.replicate > 1:
        what += f", glass {row.replicate}"
    return [
        f"{row.code} {row.tray}".strip(),
        liquid.label,
        ", ".join(liquid.casks),
        what,
        PEAT_WORDS[_peat(plan, row.draw_id)] if liquid.phenol_ppm is not None else "not known",
    ]
