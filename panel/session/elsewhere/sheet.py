"""The sheet that goes with the bottles to another site: codes and millilitres, cautions, no key."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from panel.errors import SessionError
from panel.figures import in_digits
from panel.session.dose import CAUTIONS
from panel.session.elsewhere.bottles import CARRIED_ABV, Bottle, bottles_of, lpa
from panel.session.found import session_at
from panel.session.paper import columns, paragraph, rule
from panel.session.sheets import PRINTABLE, Printing, log_printing, sheet_heading
from panel.store.site_packs import Moved, packs_of

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session

    from panel.store.site_packs import SitePack

CARRIAGE = (
    "At home whoever pours fills each bottle with what the pour sheet has under its code, reduced, "
    "and writes that code on it, nothing else. Whoever knows the key does not travel with it.",
    "Flammable liquid. Small closed bottles with room for it to expand, upright and padded, in a "
    "tight box with something that soaks up what leaks; say on the box what is in it. Away from "
    "heat, flame and people's luggage.",
    "How it may be carried, by whom, packed and declared how, and what duty it bears: your local "
    "code, your carrier and your excise officer decide, and licensed practice; not this sheet.",
    f"Every sample is reduced to {CARRIED_ABV:g} % vol or below before it leaves, kept closed, "
    "cool and dark, and nosed within seven days.",
    "Measure what arrives and what is destroyed, glasses poured away and leftovers, and say both "
    "when the pack is opened and returned: they go into the register.",
    "The pack file goes another way than this sheet: only then does its hash here tell whether it "
    "was exchanged on the way.",
)
"""Common practice, no source, but for the limits, which are this house's own."""


def carriage_sheet(db: Session, name: str, *, now: datetime, by: str) -> str:
    """Return what goes with the bottles of each pack of a session. No key.

    Who printed it goes into the log.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such session, or it is not sealed yet.
    SessionError
        Nothing of it was packed.
    """
    session = session_at(db, name, *PRINTABLE, deed="printing a sheet")
    packs = [pack for pack in packs_of(db, session.id) if pack.recalled_at is None]
    if not packs:
        raise SessionError(
            f"Nothing of session {name!r} goes to another site (`oakpanel session pack`)."
        )
    head = log_printing(db, session, "carriage sheet printed", now=now, by=by)
    lines = sheet_heading(session, "CARRIAGE - with the bottles", Printing(by, now, head, ()))
    for pack in packs:
        people = [seat.person_id for seat in pack.seats]
        lines += _of_pack(pack, bottles_of(db, session, people))
    lines += [
        "",
        *(line for said in (*CARRIAGE, *CAUTIONS) for line in paragraph(said, bullet="- ")),
    ]
    return "\n".join(lines) + "\n"


def _of_pack(pack: SitePack, bottles: Sequence[Bottle]) -> Iterator[str]:
    seats = ", ".join(f"{seat.seat} {seat.person.code}" for seat in pack.seats)
    yield ""
    yield from paragraph(f"To {pack.site}, seats {seats}. To be nosed by {pack.nose_by}.")
    yield f"Pack SHA-256 {pack.file_hash}"
    yield from paragraph(f"Water: {pack.water}. The same there, for all that is rinsed or drunk.")
    yield ""
    apart = any(bottle.tray for bottle in bottles)
    headings = ["bottle", *(["tray"] if apart else []), "glasses", "mL", "L pure alcohol"]
    widths = [8, *([12] if apart else []), -7, -9, -14]
    yield from columns(headings, (_row(bottle, apart=apart) for bottle in bottles), widths)
    for row in sorted(pack.amounts, key=lambda each: list(Moved).index(each.moved)):
        amount = f"{in_digits(row.millilitres, '.0f')} mL at {in_digits(row.abv, 'g')} % vol"
        pure = in_digits(lpa(row.millilitres, row.abv), ".4f")
        yield f"{row.moved.value:<10}{row.moved_on}  {amount}, {pure} L of pure alcohol"
    known = {row.moved for row in pack.amounts}
    for moved in Moved:
        if moved not in known:
            yield f"{moved.value:<10}__________  ________ mL    signed ______________________"
    yield rule()


def _row(bottle: Bottle, *, apart: bool) -> list[str]:
    tray = [bottle.tray] if apart else []
    volume = in_digits(bottle.millilitres, ".1f")
    return [bottle.code, *tray, str(bottle.glasses), volume, in_digits(bottle.lpa, ".4f")]
