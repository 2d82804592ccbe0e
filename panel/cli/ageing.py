"""`oakpanel ageing`: how styles and casks develop, and when a cask meets a target."""

from __future__ import annotations

from datetime import date

import click

from panel.cli.ageing_options import ageing_options
from panel.cli.answers import RECKONING, emit_json, waiting
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.cli.later import tell_later
from panel.cli.pictured import check_picture, drawn_here, picture_option
from panel.cli.told_again import AgeingTold


@click.command("ageing")
@ageing_options
@picture_option
@as_of_option
@json_option
@pass_invocation
def command(
    inv: Invocation,
    make: str | None,
    wood: str | None,
    casks: tuple[str, ...],
    descriptors: tuple[str, ...],
    target: str | None,
    seed: int,
    picture: str | None,
    as_of: date | None,
    as_json: bool,
) -> None:
    """Show how notes develop with age, for styles or for casks, and when a target is met.

    Nothing is foretold beyond three years, nor far beyond the ages nosed. A cask that is named
    is put against every target of the house unless one is named.
    """
    from panel.pictures.ageing import grown
    from panel.questions.ageing import house_ageing
    from panel.questions.sessions import held_later
    from panel.words.ageing_words import ageing_lines

    check_picture(picture, as_json=as_json)
    with inv.reading() as db, waiting(RECKONING):
        day = as_of or inv.today(db)
        found = house_ageing(
            db,
            as_of=day,
            make=make,
            wood=wood,
            casks=casks,
            descriptors=descriptors,
            target=target,
            seed=seed,
        )
        drawn = grown(db, found) if picture else ()
        later = held_later(db, day)
    if drawn_here(picture, drawn):
        return
    if as_json:
        emit_json(AgeingTold(found, later))
    else:
        click.echo("\n".join(ageing_lines(found)))
        tell_later(later, day)
