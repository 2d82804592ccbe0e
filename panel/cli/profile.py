"""`oakpanel profile`: what each cask is like, over all sessions."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from panel.cli.answers import RECKONING, emit_json, waiting
from panel.cli.completing import a_cask, a_person
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.cli.looking import confirm_own
from panel.cli.pictured import check_picture, drawn_here, picture_option

if TYPE_CHECKING:
    from analysis.pictures import Picture
    from panel.questions.asked_profile import AskedProfile
    from panel.store.engine import Session


@click.command("profile")
@click.argument("samples", nargs=-1, metavar="[SAMPLE|CASK ...]", shell_complete=a_cask)
@click.option(
    "--assessor",
    metavar="CODE",
    help="How one assessor uses the line instead; asks their PIN, or a lead's.",
    shell_complete=a_person,
)
@picture_option
@as_of_option
@json_option
@pass_invocation
def command(
    inv: Invocation,
    samples: tuple[str, ...],
    assessor: str | None,
    picture: str | None,
    as_of: date | None,
    as_json: bool,
) -> None:
    """Show what each sample is like: the mean score the panel would be expected to give.

    A cask that nobody nosed is foretold from its wood, fill, age and peat, and says so. --picture
    draws what is alike in the store: all casks, or those named.
    """
    from panel.questions.asked_profile import asked_profile, assessor_rows
    from panel.words.line_words import assessor_lines
    from panel.words.profile_words import asked_lines, list_lines

    check_picture(picture, as_json=as_json)
    if picture is not None and assessor is not None:
        raise click.UsageError("--picture draws casks, not how one assessor uses the line.")
    if assessor is not None:
        confirm_own(inv, assessor)
    with inv.reading() as db, waiting(RECKONING):
        day = as_of or inv.today(db)
        asked = asked_profile(db, samples, as_of=day)
        drawn = _alike(db, asked, day) if picture else ()
    if drawn_here(picture, drawn):
        return
    if as_json:
        document = asked.to_dict()
        if assessor is not None:
            document["assessors"] = assessor_rows(asked.profile, assessor)
        emit_json(document)
    elif assessor is not None:
        click.echo("\n".join(assessor_lines(asked.profile, assessor)))
    else:
        click.echo("\n".join(asked_lines(asked) if samples else list_lines(asked)))


def _alike(db: Session, asked: AskedProfile, day: date) -> tuple[Picture, ...]:
    from panel.pictures.casks import alike_casks, alike_in_house

    if asked.named:
        found = alike_casks(asked.profile, set(asked.rows["sample"].astype(str)))
    else:
        found = alike_in_house(db, asked.profile, as_of=day)
    return () if found is None else (found,)
