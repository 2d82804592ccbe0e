"""`oakpanel match`: which casks suit a target, and how sure that is."""

from __future__ import annotations

from datetime import date

import click

from panel.cli.answers import RECKONING, emit_json, waiting
from panel.cli.completing import a_target
from panel.cli.invocation import (
    Invocation,
    as_of_option,
    json_option,
    pass_invocation,
    read_near_date,
)
from panel.cli.later import tell_later
from panel.cli.pictured import check_picture, drawn_here, picture_option
from panel.cli.told_again import MatchTold, tell_changes, would_change_option
from panel.questions.usual_best import USUAL_BEST


@click.command("match")
@click.argument("target", shell_complete=a_target)
@click.option("--top", type=click.IntRange(1), help="Show so many casks only.")
@click.option(
    *("--best", "best"),
    type=click.IntRange(1),
    metavar="K",
    help="Tell the best K as well, and whether nosing on still pays.",
)
@click.option(
    "--bottling-date", callback=read_near_date, metavar="DATE", help="Casks as they will be then."
)
@click.option("--with-held", is_flag=True, help="Rank barred casks too: leaking, held, reserved.")
@click.option("--seed", type=int, default=1, show_default=True, help="For the draws behind it.")
@would_change_option
@picture_option
@as_of_option
@json_option
@pass_invocation
def command(
    inv: Invocation,
    target: str,
    top: int | None,
    best: int | None,
    bottling_date: date | None,
    with_held: bool,
    seed: int,
    mind: bool,
    picture: str | None,
    as_of: date | None,
    as_json: bool,
) -> None:
    """Rank the nosed casks against TARGET by the chance that every note is within tolerance.

    Notes are moved by the model of ageing from the day each cask was drawn to the day of
    bottling, else to today; --top only shows fewer. With --best, and with --would-change, the best
    casks by how far off they are expected to be stand below, and whether nosing on is worth it, as
    `oakpanel session next` has it: that takes as long as it does.
    """
    from panel.pictures.casks import ranked_casks
    from panel.questions.best_casks import NOT_ASKED, best_casks
    from panel.questions.matching import target_match
    from panel.questions.sessions import held_later
    from panel.words.answers import match_lines
    from panel.words.best_words import best_lines

    check_picture(picture, as_json=as_json)
    with inv.reading() as db:
        day = as_of or inv.today(db)
        with waiting(RECKONING):
            found = target_match(
                db,
                target,
                as_of=day,
                bottling_on=bottling_date,
                top=top,
                with_held=with_held,
                seed=seed,
            )
            told = NOT_ASKED
            if best or mind:
                told = best_casks(
                    *(db, target),
                    as_of=day,
                    best=best or USUAL_BEST,
                    bottling_on=bottling_date,
                    with_held=with_held,
                    seed=seed,
                )
            drawn = [ranked_casks(db, found, as_of=day, on=bottling_date)] if picture else []
        later = held_later(db, day)
    if drawn_here(picture, drawn):
        return
    if as_json:
        emit_json(MatchTold(found, told, told.changes if mind else None, later))
    else:
        click.echo("\n".join([*match_lines(found), "", *best_lines(told, asked=as_of)]))
        tell_changes(told.changes if mind else None, as_of)
        tell_later(later, day)
