"""`oakpanel influences`: what wood, age, peat and strength do to each note."""

from __future__ import annotations

from datetime import date

import click

from panel.cli.answers import RECKONING, emit_json, waiting
from panel.cli.completing import a_note
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.cli.later import tell_later
from panel.cli.pictured import check_picture, drawn_here, picture_option
from panel.cli.told_again import InfluencesTold

MAP_GONE = (
    "The map on two axes is drawn no more. What is alike in the store: "
    "`oakpanel profile --picture -`; what moves one note: `oakpanel influences NOTE --picture -`."
)


@click.command("influences")
@click.argument("descriptor", required=False, shell_complete=a_note)
@click.option("--map", "as_map", is_flag=True, hidden=True)
@picture_option
@as_of_option
@json_option
@pass_invocation
def command(
    inv: Invocation,
    descriptor: str | None,
    as_map: bool,
    picture: str | None,
    as_of: date | None,
    as_json: bool,
) -> None:
    """Show what wood, fill, age, peat, strength and place do, in all or to DESCRIPTOR."""
    from panel.questions.influences import influences_of
    from panel.questions.sessions import held_later
    from panel.words.influence_words import effect_lines, influence_lines

    check_picture(picture, as_json=as_json)
    if as_map and not as_json:
        raise click.UsageError(MAP_GONE)
    if picture is not None and descriptor is None:
        raise click.UsageError("--picture draws what moves one DESCRIPTOR.")
    wanted = () if descriptor is None or as_map else (descriptor,)
    with inv.reading() as db, waiting(RECKONING):
        day = as_of or inv.today(db)
        found = influences_of(
            db,
            as_of=day,
            descriptors=wanted,
            with_map=as_map or (as_json and not wanted),
            with_stock=as_json,
        )
        later = held_later(db, day)
    if picture is not None and descriptor is not None:
        from panel.pictures.influences import moved

        if drawn_here(picture, moved(found, descriptor)):
            return
    if as_json:
        emit_json(InfluencesTold(found, later))
        return
    lines = influence_lines(found) if descriptor is None else effect_lines(found, descriptor)
    click.echo("\n".join(lines))
    tell_later(later, day)
