"""`oakpanel bottles`: what people outside said of a bottle, and the bottles of a lot here."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json, folded, say, table, tell
from panel.cli.bottles_forget import close, forget
from panel.cli.completing import a_release
from panel.cli.invocation import (
    Invocation,
    json_option,
    pass_invocation,
    read_date,
    read_near_date,
)
from panel.kinds import BottleKind, RemarkKind

if TYPE_CHECKING:
    from panel.release.lot_trace import BottleTold, RemarkTold

KINDS = [kind.value for kind in RemarkKind]
STANDING = [kind.value for kind in BottleKind]


@dataclass(frozen=True)
class BottlesListed:
    """What was said of bottles, open ones first, and every bottle kept or come back."""

    remarks: tuple[RemarkTold, ...]
    bottles: tuple[BottleTold, ...]


@click.group("bottles")
def command() -> None:
    """Back from the glass: remarks on bottles, their way back to the casks, bottles kept back."""


@command.command("list")
@click.option("--open", "open_only", is_flag=True, help="Remarks that are not closed alone.")
@json_option
@pass_invocation
def list_all(inv: Invocation, open_only: bool, as_json: bool) -> None:
    """List remarks, open ones and those that concern safety first, and the bottles kept."""
    from panel.release.lot_trace import all_bottles, all_remarks
    from panel.words.lot_words import bottle_words, remark_state

    with inv.reading() as db:
        remarks, bottles = all_remarks(db, open_only=open_only), all_bottles(db)
    if as_json:
        emit_json(BottlesListed(tuple(remarks), tuple(bottles)))
        return
    rows = [(r.remark, r.made_on, r.lot, r.kind.value, r.said, remark_state(r)) for r in remarks]
    if rows:
        click.echo(table(("no.", "day", "lot", "about", "said", "stands"), rows))
    else:
        say("No remark on a bottle is on record.")
    for bottle in bottles:
        click.echo(f"{bottle.lot}: {bottle_words(bottle)}")


@command.command("remark")
@click.argument("lot", shell_complete=a_release)
@click.option("--said", required=True, metavar="WORDS", help="What they said, in their words.")
@click.option("--about", type=click.Choice(KINDS), default=RemarkKind.REMARK.value)
@click.option("--on", "made_on", callback=read_date, metavar="DATE", help="The day; else today.")
@click.option(
    "--who", metavar="NAME", help="Who said it; kept apart, and deleted when it is closed."
)
@click.option("--reach", metavar="HOW", help="Where they can be answered; deleted likewise.")
@json_option
@pass_invocation
def remark(
    inv: Invocation,
    lot: str,
    said: str,
    about: str,
    made_on: date | None,
    who: str | None,
    reach: str | None,
    as_json: bool,
) -> None:
    """Write down what somebody outside said of a bottle of LOT (its code, or the release)."""
    from panel.release.lot_bottles import keep_remark
    from panel.words.lot_words import TELL_SAFETY

    with inv.writing() as db:
        kept = keep_remark(
            *(db, lot),
            said=said,
            kind=RemarkKind(about),
            made_on=made_on,
            who=who,
            reach=reach,
            now=inv.now(),
            by=inv.by,
        )
    if as_json:
        emit_json(kept)
        return
    click.echo(f"Remark {kept.remark} on {kept.lot}, {kept.release}, is kept.")
    if kept.tell_safety:
        say(f"{TELL_SAFETY} Then: oakpanel bottles safety {kept.remark}")
    say(f"Next: oakpanel bottles trace {kept.lot}")


@command.command("trace")
@click.argument("lot", shell_complete=a_release)
@click.option("--who", is_flag=True, help="With who made the remarks; a lead's PIN is asked.")
@json_option
@pass_invocation
def trace(inv: Invocation, lot: str, who: bool, as_json: bool) -> None:
    """From LOT (its code, the release, or a remark's number) back to vat, casks, draws, sessions.

    And on to other lots that share a cask, and to the bottles that were kept back.
    """
    from panel.cli.looking import confirm_lead
    from panel.release.lot_trace import trace_lot, trace_remark
    from panel.words.lot_words import lot_lines

    if who:
        confirm_lead(inv, f"who made remarks on {lot}")
    with inv.reading() as db:
        if lot.isdecimal():
            found = trace_remark(db, int(lot), with_who=who)
        else:
            found = trace_lot(db, lot, with_who=who)
    if as_json:
        emit_json(found)
    else:
        tell("\n".join(lot_lines(found)))


@command.command("safety")
@click.argument("number", type=int, metavar="REMARK")
@json_option
@pass_invocation
def safety(inv: Invocation, number: int, as_json: bool) -> None:
    """Keep that whoever answers for safety was told of REMARK."""
    from panel.release.lot_bottles import tell_safety
    from panel.release.lot_trace import remark_told

    with inv.writing() as db:
        told = remark_told(tell_safety(db, number, now=inv.now(), by=inv.by))
    if as_json:
        emit_json(told)
    else:
        click.echo(
            f"Remark {number}: whoever answers for safety was told on {told.told_safety_on}."
        )


command.add_command(close)
command.add_command(forget)


@command.command("keep")
@click.argument("lot", shell_complete=a_release)
@click.option("--place", required=True, help="Where they stand.")
@click.option("--bottles", "count", type=int, default=2, show_default=True, help="How many.")
@click.option(
    "--kind",
    type=click.Choice(STANDING),
    default=BottleKind.RETAINED.value,
    show_default=True,
    help="Kept back; unopened, from outside; or come back opened.",
)
@click.option("--remark", type=int, metavar="REMARK", help="The remark that they came with.")
@click.option("--on", "kept_on", callback=read_date, metavar="DATE", help="Since when; else today.")
@json_option
@pass_invocation
def keep(
    inv: Invocation,
    lot: str,
    place: str,
    count: int,
    kind: str,
    remark: int | None,
    kept_on: date | None,
    as_json: bool,
) -> None:
    """Write down bottles of LOT that stand in the house; keep two full ones of each lot back."""
    from panel.release.lot_bottles import keep_bottles
    from panel.words.lot_words import NEVER_POURED

    with inv.writing() as db:
        done = keep_bottles(
            *(db, lot),
            place=place,
            count=count,
            kind=BottleKind(kind),
            remark=remark,
            kept_on=kept_on,
            now=inv.now(),
            by=inv.by,
        )
    if as_json:
        emit_json(done)
        return
    numbers = ", ".join(map(str, done.bottles))
    click.echo(f"Bottles of {done.lot}, {done.kind.value}: {numbers}, {done.place}.")
    if done.kind is BottleKind.OPENED:
        say(NEVER_POURED)


@command.command("gone")
@click.argument("number", type=int, metavar="BOTTLE")
@click.option("--to", "gone_to", required=True, metavar="WHERE", help="Laboratory, destroyed ...")
@json_option
@pass_invocation
def gone(inv: Invocation, number: int, gone_to: str, as_json: bool) -> None:
    """Keep that BOTTLE left its place."""
    from panel.release.lot_bottles import bottle_gone

    with inv.writing() as db:
        done = bottle_gone(db, number, gone_to=gone_to, now=inv.now(), by=inv.by)
    if as_json:
        emit_json(done)
    else:
        click.echo(f"Bottle {done.bottle} is gone: {done.gone_to}.")


@command.command("nose")
@click.argument("lot", shell_complete=a_release)
@click.argument("name", metavar="SESSION")
@click.option("--held-on", callback=read_near_date, metavar="DATE", help="Else today.")
@json_option
@pass_invocation
def nose(inv: Invocation, lot: str, name: str, held_on: date | None, as_json: bool) -> None:
    """Write the draft SESSION: a retained bottle of LOT blind beside an unopened one.

    A bottle that came back opened is never poured for anybody.
    """
    from panel.release.lot_nosing import plan_bottle_nosing

    with inv.writing() as db:
        done = plan_bottle_nosing(db, lot, name, held_on=held_on, now=inv.now(), by=inv.by)
    if as_json:
        emit_json(done)
        return
    click.echo(f"Bottles {done.retained} (retained) and {done.unopened} (unopened) are opened.")
    click.echo(folded(done.plan.lines()))
