"""The pour sheet by bottle: grams of spirit and of water for each, and the codes it goes into."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING

from panel.session.blueprint import blueprint_of
from panel.session.day_sheet import HOLD_ABV, Bulk, bulk_of
from panel.session.dose import CAUTIONS
from panel.session.paper import paragraph, printable, rule
from panel.session.pour_order import key_rows
from panel.session.pours import PourNeed, pour_needs
from panel.session.sheets import POURING, print_with_key, sheet_heading

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


def bottle_sheet(db: Session, name: str, *, now: datetime, by: str) -> str:
    """Return the sheet, one bottle after the other, from the least to the most peated.

    Who printed it goes into the log, and it costs what the pour sheet costs.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such session, or it is not sealed yet.
    """
    session, printing = print_with_key(db, name, "bottle sheet printed", now=now, by=by)
    plan = blueprint_of(db, session)
    codes: dict[str, list[str]] = {}
    for row in key_rows(db, plan):
        codes.setdefault(row.draw.label, []).append(f"{row.code} {row.tray}".strip())
    needs: dict[str, list[PourNeed]] = {}
    for need in pour_needs(db, plan):
        needs.setdefault(need.draw, []).append(need)
    lines = [
        *sheet_heading(session, "POUR SHEET BY BOTTLE - for the pourer only", printing),
        *paragraph(
            f"Weigh spirit, then water up to the total, for {session.nosing_abv:g} % vol; +/- "
            f"keeps it within {HOLD_ABV:g} % vol. {session.pour_ml:g} mL a glass, loss counted."
        ),
        *(
            line
            for draw, mine in codes.items()
            for line in _bottle(draw, mine, needs.get(draw, []), session.nosing_abv)
        ),
        rule(),
        *(line for words in (*POURING, *CAUTIONS) for line in paragraph(words, bullet="- ")),
    ]
    return "\n".join(lines) + "\n"


def _bottle(draw: str, codes: list[str], needs: list[PourNeed], abv: float) -> Iterator[str]:
    casks = ", ".join(dict.fromkeys(cask for need in needs for cask in need.casks))
    bulk = bulk_of(codes, needs, abv)
    yield rule()
    yield from paragraph(f"{printable(draw)}{f', cask {casks}' if casks else ''}")
    yield from paragraph(f"  {_weighed(bulk)}")
    yield from paragraph("   ".join(codes), bullet="  codes  ")


def _weighed(bulk: Bulk) -> str:
    glasses = "1 glass" if bulk.glasses == 1 else f"{bulk.glasses} glasses"
    if bulk.spirit_g is None or bulk.water_g is None:
        return f"no strength on record: measure it first; {glasses}"
    within = "" if bulk.tolerance_g is None else f" (+/- {max(bulk.tolerance_g, 0.1):.1f} g)"
    total = bulk.spirit_g + bulk.water_g
    return (
        f"spirit {bulk.spirit_g:.1f} g, water {bulk.water_g:.1f} g, total {total:.1f} g{within}; "
        f"{glasses}"
    )
