"""`oakpanel session seats`: who does not come and who comes late, after the sealing."""

from __future__ import annotations

import click

from panel.cli.answers import emit_json, folded, say
from panel.cli.completing import a_person, a_session
from panel.cli.invocation import Invocation, json_option, pass_invocation
from panel.cli.session_acting import leading


@click.command()
@click.argument("name", shell_complete=a_session)
@click.option(
    "--absent",
    multiple=True,
    metavar="CODE",
    help="Does not come; repeat it.",
    shell_complete=a_person,
)
@click.option(
    "--late",
    multiple=True,
    metavar="CODE",
    help="Comes late; takes the tray of the absent one named in the same place. Repeat it.",
    shell_complete=a_person,
)
@json_option
@pass_invocation
def seats(
    inv: Invocation, name: str, absent: tuple[str, ...], late: tuple[str, ...], as_json: bool
) -> None:
    """Change who sits in a sealed or open NAME, before the reveal.

    Codes and key stay. A tray that nobody takes over is void once a pour sheet was printed. Trays
    are part of what was sealed, so the session is sealed anew.
    """
    from panel.records.acts import Act
    from panel.session.seats import change_seats

    with leading(inv, Act.SEAL) as acting:
        changed = change_seats(
            acting.db, name, absent=absent, late=late, now=inv.now(), by=acting.by
        )
    if as_json:
        emit_json(changed)
        return
    click.echo(folded(list(changed.lines())))
    for note in changed.notes:
        say(note)
