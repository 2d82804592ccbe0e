"""`oakpanel bottles close` and `forget`: who made a remark is deleted, and their name with it."""

from __future__ import annotations

import sys
from collections.abc import Callable, Collection
from contextlib import closing
from dataclasses import dataclass
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json, tell
from panel.cli.invocation import Invocation, json_option, pass_invocation

if TYPE_CHECKING:
    from panel.release.lot_bottles import RemarkClosed
    from panel.release.name_places import NamePlace
    from panel.store.erasing import Overwriting

ALL, NONE = "all", "none"
EACH = ("y", "n", "all", "none")


@dataclass(frozen=True)
class WhoForgotten:
    """A remark whose maker was deleted, and whether that is overwritten."""

    remark: RemarkClosed
    overwriting: Overwriting | None


Forgotten = tuple["RemarkClosed", "Overwriting | None"]
Shown = tuple["NamePlace", ...] | None
Deed = Callable[[Collection[int] | None, Shown], Forgotten]
also_option = click.option(
    "--also",
    metavar="all|none|1,3",
    help="Which places that hold a part of the name lose it too; else each is asked.",
)


@click.command("close")
@click.argument("number", type=int, metavar="REMARK")
@click.option("--outcome", required=True, metavar="WORDS", help="How it ended.")
@click.option("--keep-who", is_flag=True, help="An answer is still owed: keep who made it.")
@also_option
@json_option
@pass_invocation
def close(
    inv: Invocation, number: int, outcome: str, keep_who: bool, also: str | None, as_json: bool
) -> None:
    """Close REMARK. Who made it is deleted then, and overwritten."""
    from panel.cli.forgetting import say_waits
    from panel.release.lot_bottles import close_remark
    from panel.release.lot_forgetting import close_and_overwrite

    if keep_who:
        with inv.writing() as db:
            done = close_remark(
                *(db, number), outcome=outcome, keep_who=True, now=inv.now(), by=inv.by
            )
        _show(WhoForgotten(done, None), as_json)
        return

    def forgotten(numbers: Collection[int] | None, shown: Shown) -> Forgotten:
        with closing(inv.open()) as store:
            return close_and_overwrite(
                *(store, number),
                outcome=outcome,
                also=numbers,
                shown=shown,
                now=inv.now(),
                by=inv.by,
                tell=say_waits,
            )

    _show(WhoForgotten(*_decided(forgotten, also)), as_json)


@click.command("forget")
@click.argument("number", type=int, metavar="REMARK")
@click.option("--name", metavar="NAME", help="Their name, where it is deleted already.")
@also_option
@json_option
@pass_invocation
def forget(inv: Invocation, number: int, name: str | None, also: str | None, as_json: bool) -> None:
    """Delete who made REMARK, and their name in its words, and overwrite that.

    Where single parts of the name stand in remarks, notes or reasons, of bottles or anything else,
    each place is shown and asked; without a terminal nothing is done until --also says which.
    """
    from panel.cli.forgetting import say_waits
    from panel.release.lot_forgetting import forget_and_overwrite

    def forgotten(numbers: Collection[int] | None, shown: Shown) -> Forgotten:
        with closing(inv.open()) as store:
            return forget_and_overwrite(
                *(store, number),
                name=name,
                also=numbers,
                shown=shown,
                now=inv.now(),
                by=inv.by,
                tell=say_waits,
            )

    _show(WhoForgotten(*_decided(forgotten, also)), as_json)


def _decided(forgotten: Deed, also: str | None) -> Forgotten:
    """Do it once it is said of each place whether the part of a name there goes too.

    What was shown is handed back: where somebody wrote meanwhile, nothing unseen is overwritten.
    """
    from panel.cli.proving import at_terminal
    from panel.release.name_places import PlacesOpen

    if also is not None and also not in (ALL, NONE):
        return forgotten(_numbers(also), None)
    try:
        return forgotten(None, None)
    except PlacesOpen as error:
        if also == NONE:
            return forgotten((), None)
        if also == ALL:
            return forgotten({each.place for each in error.places}, error.places)
        if not at_terminal():
            raise
        return forgotten(_asked(error.places), error.places)


def _numbers(typed: str) -> set[int]:
    try:
        return {int(each) for each in typed.split(",")}
    except ValueError:
        raise click.BadParameter(f"{typed!r} is not all, none or numbers such as 1,3") from None


def _asked(places: Collection[NamePlace]) -> set[int]:
    """Show each place and ask whether the part of the name there goes."""
    click.echo(
        "Parts of the name stand here. They may be somebody else's, or no name at all.", err=True
    )
    chosen: set[int] = set()
    for place in places:
        click.echo(place.words(), err=True)
        question = f"Take out {place.part!r} here"
        answer = click.prompt(question, type=click.Choice(EACH), default="n", err=True)
        if answer == "all":
            return chosen | {each.place for each in places if each.place >= place.place}
        if answer == "none":
            return chosen
        if answer == "y":
            chosen.add(place.place)
    return chosen


def _show(done: WhoForgotten, as_json: bool) -> None:
    from panel.cli.forgetting import say_unfinished
    from panel.words.lot_words import forgotten_words

    if as_json:
        emit_json(done)
    else:
        tell(forgotten_words(done.remark, looked=done.overwriting is not None))
    if done.overwriting is not None and not done.overwriting.overwritten:
        say_unfinished(done.overwriting)
        sys.exit(1)
