"""`oakpanel vat`: which casks, in which litres, make the release that was asked for."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from panel.cli.answers import RECKONING, emit_json, waiting
from panel.cli.as_batch import as_batch_options, read_as_batch
from panel.cli.completing import a_target
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.cli.later import tell_later
from panel.cli.pictured import check_picture, drawn_here, picture_option
from panel.cli.told_again import VatTold, tell_vat_mind, would_change_option
from panel.cli.vat_options import limit_options, read_exponents, read_limits

if TYPE_CHECKING:
    from analysis.next_glasses import VatMind
    from analysis.vatting import Limits
    from panel.questions.vatting import VatAnswer
    from panel.release.batch import AsBatch
    from panel.store.engine import Session


@click.command("vat")
@click.argument("target", shell_complete=a_target)
@limit_options
@click.option("--answers", type=click.IntRange(1, 5), default=5, show_default=True, help="Shown.")
@click.option(
    "--with-foretold",
    is_flag=True,
    help="Casks that nobody nosed too, as foretold from wood, fill, age and peat.",
)
@click.option(
    "--quick",
    is_flag=True,
    help="No prices, stand-ins or other answers, of which one may be the surer.",
)
@as_batch_options
@would_change_option
@picture_option
@as_of_option
@json_option
@pass_invocation
def command(
    inv: Invocation,
    /,
    target: str,
    answers: int,
    quick: bool,
    with_foretold: bool,
    mind: bool,
    picture: str | None,
    as_of: date | None,
    as_json: bool,
    as_batch: str | None,
    within: float | None,
    recipe: float,
    free_recipe: bool,
    with_held: bool,
    exponents: tuple[str, ...],
    **given: Any,
) -> None:
    """Choose casks and litres for TARGET, and say how sure that is.

    Bottling strength, losses and whole casks are as usual unless said otherwise. Nothing is
    reserved: `oakpanel release propose` does that. With --as-batch they are chosen to be like a
    batch before: within ten points of it on every note, its shares by wood and make as limits.
    """
    from panel.pictures.vatting import vatted
    from panel.questions.sessions import held_later
    from panel.questions.vatting import house_vatting
    from panel.release.batch import BatchVatted, house_batch
    from panel.words.vat_words import vat_lines

    check_picture(picture, as_json=as_json)

    limits, potent = read_limits(**given), read_exponents(exponents)
    asked = read_as_batch(as_batch, within, recipe, free=free_recipe)
    with inv.reading() as db, waiting(RECKONING):
        day = as_of or inv.today(db)
        ground: dict[str, Any] = {
            "as_of": day,
            "exponents": potent,
            "with_foretold": with_foretold,
        }
        how = {**ground, "with_held": with_held, "in_full": not quick}
        if asked is None:
            batch = BatchVatted(house_vatting(db, target, limits, **how), None)
        else:
            batch = house_batch(db, target, limits, asked, **how)
        found = batch.answer
        changes = _changes(db, found, (target, limits, asked), **ground) if mind else None
        drawn = vatted(db, found) if picture else ()
        later = held_later(db, day)
    if drawn and drawn_here(picture, drawn):
        return
    if as_json:
        emit_json(VatTold(found, changes, batch.after, later))
    else:
        click.echo("\n".join(vat_lines(found, answers=answers)))
        if mind and getattr(found.found, "mixture", None) is not None:
            tell_vat_mind(changes)
        tell_later(later, day)
    if getattr(found.found, "mixture", None) is None:
        raise SystemExit(1)


def _changes(
    db: Session,
    found: VatAnswer,
    about: tuple[str, Limits, AsBatch | None],
    *,
    as_of: date,
    exponents: dict[str, float],
    with_foretold: bool,
) -> VatMind | None:
    """Return what could change about the vatting, its aims those of the batch it is to be like.

    None where there is no vatting.
    """
    from panel.questions.change_of_mind import would_change_of
    from panel.release.batch_steps import batch_ground

    mixture = getattr(found.found, "mixture", None)
    if mixture is None:
        return None
    target, limits, batch = about
    ground = batch_ground(
        *(db, target, limits, batch),
        as_of=as_of,
        exponents=exponents,
        with_foretold=with_foretold,
    )
    parts = {part.cask: part.litres for part in mixture.parts}
    return would_change_of(db, ground.aim, parts, as_of=as_of, house=ground.house)
