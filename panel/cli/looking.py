"""Who may look at what speaks of single people, or of a session that is not over for all."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Collection

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


def confirm_unfinished(inv: Invocation, names: Collection[str]) -> None:
    """Ask for a lead's PIN before the scores of a closed session that somebody has glasses left of.

    It may be opened again, and whoever noses then must not lean on what others gave. Who asks is
    not believed without a PIN: any code can be typed.

    Raises
    ------
    UnknownRecord
        There is no session of such a name.
    NotProved, NotAllowed, SignInRefused, SignInWaits
        There is nobody to ask; no lead; the PIN is wrong; too many wrong tries.
    """
    from panel.cli.answers import say
    from panel.records.acts import Act
    from panel.session.reopened import left_unfinished

    with inv.reading() as db:
        unfinished = left_unfinished(db, names)
    if unfinished:
        say(f"Not finished by all, and not revealed: {', '.join(unfinished)}. Leads may read it.")
        inv.proved(Act.UNFINISHED)
