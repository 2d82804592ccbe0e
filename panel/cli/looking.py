"""Who may look at what speaks of single people: a lead, or the person whose page it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panel.cli.invocation import Invocation


def confirm_lead(inv: Invocation, about: str) -> None:
    """Ask for a lead's PIN before what speaks of people to the lead alone, and log it.

    Raises
    ------
    NotProved, NotAllowed, SignInRefused, SignInWaits
        There is nobody to ask; no lead; the PIN is wrong; too many wrong tries.
    """
    from panel.records.acts import Act
    from panel.session.gate import note_looked

    lead = inv.proved(Act.PRIVATE)
    with inv.writing() as db:
        note_looked(db, lead, now=inv.now(), about=about)


def confirm_own(inv: Invocation, code: str) -> None:
    """Ask for the PIN of the person of *code*, or of a lead, before that person's own page.

    Raises
    ------
    NotProved, NotAllowed, SignInRefused, SignInWaits
        There is nobody to ask; neither of them; the PIN is wrong; too many wrong tries.
    """
    from panel.records.acts import Act

    inv.proved(Act.OWN_PAGE, about=code)
