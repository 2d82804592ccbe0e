"""`oakpanel profile`: what each cask is like, over all sessions."""

from __future__ import annotations

from datetime import date

import click

from panel.cli.answers import RECKONING, emit_json, waiting
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation


@click.command("profile")
@click.argument("samples", nargs=-1, metavar="[SAMPLE|CASK ...]")
@click.option("--assessor", metavar="CODE", help="How one assessor uses the line instead.")
@as_of_option
@json_option
@pass_invocation
def command(
    inv: Invocation,
    samples: tuple[str, ...],
    assessor: str | None,
    as_of: date | None,
    as_json: bool,
) -> None:
    """Show what each sample is like: the mean score the panel would be expected to give.

    A cask that nobody nosed is foretold from its wood, fill, age and peat, and says so.
    """
    from panel.questions.asked_profile import asked_profile, assessor_rows
    from panel.words.line_words import assessor_lines
    from panel.words.profile_words import asked_lines, list_lines

    with inv.reading() as db, waiting(RECKONING):
        asked = asked_profile(db, samples, as_of=as_of or inv.today(db))
    if as_json:
        document = asked.to_dict()
        if assessor is not None:
            document["assessors"] = assessor_rows(asked.profile, assessor)
        emit_json(document)
    elif assessor is not None:
        click.echo("\n".join(assessor_lines(asked.profile, assessor)))
    else:
        click.echo("\n".join(asked_lines(asked) if samples else list_lines(asked)))
