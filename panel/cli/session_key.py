"""`oakpanel session key`: ballots from paper, keyed twice and compared."""

from __future__ import annotations

from pathlib import Path

import click

from panel.cli.answers import emit_json, say
from panel.cli.completing import a_session
from panel.cli.invocation import Invocation, json_option, pass_invocation
from panel.cli.session_acting import leading

A_FILE = click.Path(path_type=Path)


@click.command("key")
@click.argument("name", shell_complete=a_session)
@click.argument("first", type=A_FILE, required=False)
@click.argument("second", type=A_FILE, required=False)
@click.option("--template", "blank", is_flag=True, help="Print a file to be keyed into, instead.")
@click.option(
    "--take-seat",
    "take_seats",
    multiple=True,
    metavar="CODE",
    help="Whose booth ends by it, though they have not left it.",
)
@json_option
@pass_invocation
def key(
    inv: Invocation,
    name: str,
    first: Path | None,
    second: Path | None,
    blank: bool,
    take_seats: tuple[str, ...],
    as_json: bool,
) -> None:
    """Keep ballots of NAME that two people keyed into FIRST and SECOND, where both are alike.

    Where they differ every glass is told and nothing is kept; nor where one of them sits at a
    booth, unless --take-seat names whom.
    """
    from panel.records.acts import Act
    from panel.session.keyed import ballot_files, keep_ballots, template

    if blank:
        with inv.reading() as db:
            click.echo(template(db, name), nl=False)
        return
    if first is None or second is None:
        raise click.UsageError("Name two files, each keyed by another person; or --template.")
    with leading(inv, Act.KEY_IN) as acting:
        one, other = ballot_files(first, second)
        kept = keep_ballots(
            *(acting.db, name, one, other),
            now=inv.now(),
            by=acting.by,
            take_seats=take_seats,
        )
    if as_json:
        emit_json(kept)
        return
    click.echo(kept.words())
    say("Keep the paper until the session is revealed.")
