"""`oakpanel influences`: what wood, age, peat and strength do to each note."""

from __future__ import annotations

from datetime import date

import click

from panel.cli.answers import RECKONING, emit_json, waiting
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation


@click.command("influences")
@click.argument("descriptor", required=False)
@click.option("--map", "as_map", is_flag=True, help="Show the map of notes and influences.")
@as_of_option
@json_option
@pass_invocation
def command(
    inv: Invocation, descriptor: str | None, as_map: bool, as_of: date | None, as_json: bool
) -> None:
    """Show what wood, fill, age, peat, strength and place do, in all or to DESCRIPTOR."""
    from panel.questions.influences import influences_of
    from panel.words.influence_words import effect_lines, influence_lines, map_lines

    wanted = () if descriptor is None or as_map else (descriptor,)
    with inv.reading() as db, waiting(RECKONING):
        found = influences_of(
            db,
            as_of=as_of or inv.today(db),
            descriptors=wanted,
            with_map=as_map or (as_json and not wanted),
            with_stock=as_json,
        )
    if as_json:
        emit_json(found)
    elif as_map:
        click.echo("\n".join(map_lines(found.map)))
    elif descriptor is None:
        click.echo("\n".join(influence_lines(found)))
    else:
        click.echo("\n".join(effect_lines(found, descriptor)))
