"""`oakpanel session power`: how many people, samples and sessions a question needs."""

from __future__ import annotations

from datetime import date
from typing import Any

import click

from panel.cli.answers import RECKONING, emit_json, tell, waiting
from panel.cli.completing import a_note
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.cli.number import NUMBER
from panel.cli.pictured import check_picture, drawn_here, picture_option

COUNT = click.IntRange(1)


@click.command("power")
@click.option("--descriptor", "notes", multiple=True, metavar="NAME", shell_complete=a_note)
@click.option("--assessors", type=COUNT, multiple=True, metavar="N", help="Repeat to compare.")
@click.option("--samples", type=COUNT, multiple=True, metavar="N", help="Casks in a session.")
@click.option("--sessions", type=COUNT, multiple=True, metavar="N", help="Repeat to compare.")
@click.option(
    "--difference", "points", type=NUMBER, default=10, show_default=True, metavar="POINTS"
)
@click.option("--casks", type=COUNT, default=60, show_default=True, help="To choose from.")
@click.option("--best", type=COUNT, default=5, show_default=True, help="To be chosen of them.")
@click.option("--years", type=NUMBER, default=10, show_default=True, help="Ages of a curve.")
@click.option("--seed", type=int, default=1, show_default=True, help="For the draws behind it.")
@picture_option
@as_of_option
@json_option
@pass_invocation
def power(
    inv: Invocation,
    /,
    picture: str | None,
    as_of: date | None,
    as_json: bool,
    **given: Any,
) -> None:
    """Say how much a question needs before anything is poured, by this panel's own variances.

    Two casks so many points apart; the best few of many; a curve of ageing. The picture shows
    the loss of a choice against the glasses poured.
    """
    from panel.pictures.power import saved_by_glasses
    from panel.questions.power import PowerAsked, house_power
    from panel.words.power_words import power_lines

    check_picture(picture, as_json=as_json)
    if given["points"] <= 0 or given["years"] <= 0:
        raise click.UsageError("--difference and --years are numbers above zero.")
    with inv.reading() as db, waiting(RECKONING):
        found = house_power(db, PowerAsked(**given), as_of=as_of or inv.today(db))
    if drawn_here(picture, saved_by_glasses(found) if picture else []):
        return
    if as_json:
        emit_json(found)
    else:
        tell("\n".join(power_lines(found)))
