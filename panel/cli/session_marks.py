"""What a lead makes of one glass: marked before the reveal, or after it with a reason."""

from __future__ import annotations

import click

from panel.cli.answers import emit_json
from panel.cli.invocation import Invocation, json_option, pass_invocation
from panel.cli.session_acting import leading

MARKS = ("void", "re-poured", "swap-suspected", "kept")


@click.command()
@click.argument("name")
@click.argument("assessor")
@click.argument("code")
@click.argument("status", type=click.Choice(MARKS))
@click.option("--note", help="Why; kept with the mark.")
@click.option(
    "--after-reveal", is_flag=True, help="Void or kept, although the key is known; asks a --note."
)
@json_option
@pass_invocation
def mark(
    inv: Invocation,
    name: str,
    assessor: str,
    code: str,
    status: str,
    note: str | None,
    after_reveal: bool,
    as_json: bool,
) -> None:
    """Mark glass CODE of ASSESSOR in NAME before the reveal. Scores are kept.

    A revealed session takes a mark with --after-reveal only, and its reason stands in the log.
    """
    from panel.kinds import ServingStatus
    from panel.session.marks import mark_after_reveal, mark_glass

    wanted = ServingStatus(status.replace("swap-", "swap_"))
    glass = (name, assessor, code, wanted)
    with leading(inv) as acting:
        who = {"now": inv.now(), "by": acting.by}
        standing = (
            mark_after_reveal(acting.db, *glass, **who, reason=note or "")
            if after_reveal
            else mark_glass(acting.db, *glass, **who, note=note)
        )
    if as_json:
        document = {"session": name, "assessor": assessor, "code": code, "status": wanted.value}
        emit_json({**document, "pouring": standing.pouring})
    else:
        click.echo(f"Glass {code} of {assessor}: {status}. Its scores are kept.")
