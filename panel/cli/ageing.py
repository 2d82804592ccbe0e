"""`oakpanel ageing`: how styles and casks develop, and when a cask meets a target."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from panel.cli.answers import RECKONING, emit_json, waiting
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@click.command("ageing")
@click.option("--make", metavar="NAME", help="Only makes with this in their name.")
@click.option("--wood", metavar="NAME", help="Only woods with this in their name.")
@click.option("--cask", "casks", multiple=True, metavar="NUMBER", help="A cask's own curves.")
@click.option("--descriptor", "notes", multiple=True, metavar="NAME", help="Only this note.")
@click.option("--target", metavar="NAME", help="When casks meet this target.")
@click.option("--seed", type=int, default=1, show_default=True, help="For the draws behind it.")
@as_of_option
@json_option
@pass_invocation
def command(
    inv: Invocation,
    make: str | None,
    wood: str | None,
    casks: tuple[str, ...],
    notes: tuple[str, ...],
    target: str | None,
    seed: int,
    as_of: date | None,
    as_json: bool,
) -> None:
    """Show how notes develop with age, for styles or for casks, and when a target is met.

    Nothing is foretold beyond three years, nor far beyond the ages nosed. A cask that is named
    is put against every target of the house unless one is named.
    """
    from analysis.ageing import Asked
    from panel.questions.reckoning import ageing_of
    from panel.words.ageing_words import ageing_lines

    asked = Asked(make=make, wood=wood, casks=casks, descriptors=notes)
    with inv.open().read() as db, waiting(RECKONING):
        found = ageing_of(
            db,
            as_of=as_of or inv.today(db),
            asked=asked,
            targets=_targets(db, target, casks, notes),
            seed=seed,
        )
    if as_json:
        emit_json(found)
    else:
        click.echo("\n".join(ageing_lines(found)))


def _targets(
    db: Session, target: str | None, casks: tuple[str, ...], notes: tuple[str, ...]
) -> tuple[str, ...]:
    from sqlalchemy import select

    from panel.store.targets import Target

    if target is not None:
        return (target,)
    if not casks or notes:
        return ()
    return tuple(db.scalars(select(Target.name).order_by(Target.name)))
