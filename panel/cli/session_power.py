"""`oakpanel session power`: how many people, samples and sessions a question needs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import wraps
from typing import Any, TypeVar, cast

import click

from panel.cli.answers import RECKONING, emit_json, tell, waiting
from panel.cli.completing import a_note
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.cli.kinds import BY_COMMAND
from panel.cli.later import tell_later
from panel.cli.number import NUMBER
from panel.cli.pictured import check_picture, drawn_here, picture_option
from panel.kinds import SessionKind

COUNT = click.IntRange(1)
Command = TypeVar("Command", bound=Callable[..., Any])


def set_options(command: Command) -> Command:
    """Let a command be asked about sets: of which kind, how many, and what is to be found."""

    @wraps(command)
    def asked(*args: Any, **given: Any) -> Any:
        kind, sets, products = (given.pop(name) for name in ("kind", "sets", "products"))
        within, one_way = given.pop("alike_within"), given.pop("one_way")
        wanted = None
        if kind is not None:
            wanted = SetsAsked(SessionKind(kind), sets, products, within, one_way)
        elif within is not None or one_way:
            raise click.UsageError("--alike-within and --one-way go with two draws in sets.")
        return command(*args, asked_sets=wanted, **given)

    options = (
        *(
            click.option(by.flag, "kind", flag_value=kind.value, help=by.meaning)
            for kind, by in BY_COMMAND.items()
            if by.flag is not None and kind.facts.in_sets
        ),
        click.option("--sets", type=COUNT, default=1, show_default=True, help="Sets each."),
        click.option(
            *("--products",),
            type=click.IntRange(3, 8),
            default=4,
            show_default=True,
            help="In a ranking.",
        ),
        click.option("--alike-within", type=NUMBER, metavar="DPRIME", help="To be called alike."),
        click.option("--one-way", is_flag=True, help="Of pairs: the stronger is named before."),
    )
    for option in reversed(options):
        asked = option(asked)
    return cast("Command", asked)


@dataclass(frozen=True)
class SetsAsked:
    """Sets that are asked about."""

    kind: SessionKind
    sets: int
    products: int
    alike_within: float | None
    one_way: bool


def _of_sets(
    asked: SetsAsked, people: tuple[int, ...], picture: str | None, *, as_json: bool
) -> None:
    from panel.questions.sets import sets_power

    if picture is not None:
        raise click.UsageError("There is no picture of what sets can tell.")
    found = sets_power(
        asked.kind,
        people or (12,),
        asked.sets,
        products=asked.products,
        alike_within=asked.alike_within,
        one_way=asked.one_way,
    )
    if as_json:
        emit_json(found)
    else:
        tell("\n".join(found.lines()))


@click.command("power")
@click.option("--descriptor", "notes", multiple=True, metavar="NAME", shell_complete=a_note)
@click.option("--assessors", type=COUNT, multiple=True, metavar="N", help="Repeat to compare.")
@click.option("--samples", type=COUNT, multiple=True, metavar="N", help="Casks in a session.")
@click.option("--sessions", type=COUNT, multiple=True, metavar="N", help="Repeat to compare.")
@click.option(
    "--difference",
    "points",
    type=NUMBER,
    metavar="POINTS",
    help="How far apart two casks are.  [default: twice the house's tolerance]",
)
@click.option("--casks", type=COUNT, default=60, show_default=True, help="To choose from.")
@click.option("--best", type=COUNT, default=5, show_default=True, help="To be chosen of them.")
@click.option("--years", type=NUMBER, default=10, show_default=True, help="Ages of a curve.")
@click.option("--seed", type=int, default=1, show_default=True, help="For the draws behind it.")
@set_options
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
    asked_sets: SetsAsked | None,
    **given: Any,
) -> None:
    """Say how much a question needs before anything is poured, by this panel's own variances.

    Two casks so many points apart; the best few of many; a curve of ageing. The picture shows
    the loss of a choice against the glasses poured. With --pairs, --two-and-two, --ranking,
    --odd-one-out or --like-the-first: what so many sets can tell, reckoned exactly.
    """
    if asked_sets is not None:
        _of_sets(asked_sets, given["assessors"], picture, as_json=as_json)
        return
    from panel.pictures.power import saved_by_glasses
    from panel.questions.power import PowerAsked, house_power
    from panel.questions.sessions import held_later
    from panel.words.power_words import power_lines

    check_picture(picture, as_json=as_json)
    if (given["points"] or 1) <= 0 or given["years"] <= 0:
        raise click.UsageError("--difference and --years are numbers above zero.")
    with inv.reading() as db, waiting(RECKONING):
        day = as_of or inv.today(db)
        found, later = house_power(db, PowerAsked(**given), as_of=day), held_later(db, day)
    if drawn_here(picture, saved_by_glasses(found) if picture else []):
        return
    if as_json:
        emit_json(found)
    else:
        tell("\n".join(power_lines(found)))
        tell_later(later, day)
