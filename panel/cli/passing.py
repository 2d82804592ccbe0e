"""`oakpanel passing`: what is planted, what the noses catch, what nobody may empty."""

from __future__ import annotations

from datetime import date

import click

from panel.cli.answers import emit_json, say, table
from panel.cli.at_fault import options_named
from panel.cli.documents import PlantedTold, SlipsTold
from panel.cli.invocation import (
    Invocation,
    as_of_option,
    json_option,
    pass_invocation,
    read_date,
)
from panel.cli.number import NUMBER
from panel.cli.page_out import to_option, write_page
from panel.kinds import Fault

FAULTS = click.Choice([fault.value for fault in Fault])


@click.group("passing")
def command() -> None:
    """Planted glasses, noses over many mornings, holds of passing sessions.

    A passing session is planned with `oakpanel session plan NAME --passing` and judged with
    `oakpanel agreement NAME`.
    """


@command.command("list")
@json_option
@pass_invocation
def list_all(inv: Invocation, as_json: bool) -> None:
    """List what is kept to be planted: known-sound spirit and spikes."""
    from panel.records.planting import planted_lines

    with inv.reading() as db:
        lines = planted_lines(db)
    if as_json:
        emit_json(PlantedTold(tuple(lines)))
    elif lines:
        rows = [
            (
                *(line.sample, line.fault.value if line.fault else "known sound"),
                *(line.base or "-", line.make or "-", line.made_by, line.made_on),
                *(line.safety_sheet or "-", line.fate or "in use"),
            )
            for line in lines
        ]
        headings = ("sample", "planted as", "on", "make", "made by", "made on", "sheet", "now")
        click.echo(table(headings, rows))
    else:
        say("Nothing is kept to be planted: `oakpanel passing sound SAMPLE` begins.")


@command.command("sound")
@click.argument("sample")
@click.option("--made-by", metavar="CODE", help="Who knows it to be sound; else who acts.")
@json_option
@pass_invocation
def sound(inv: Invocation, sample: str, made_by: str | None, as_json: bool) -> None:
    """Keep SAMPLE as known to be sound: planted as it is, and what spikes are made on."""
    from panel.records.planting import keep_sound

    with options_named(), inv.writing() as db:
        line = keep_sound(db, sample, made_by=made_by, now=inv.now(), by=inv.by)
    if as_json:
        emit_json(line)
    else:
        click.echo(line.kept_words())


@command.command("spike")
@click.argument("label")
@click.option("--fault", required=True, type=FAULTS, help="The family of the fault.")
@click.option("--base", required=True, metavar="SAMPLE", help="The known-sound sample it is of.")
@click.option("--stock", required=True, help="What was added, and how much of it a litre.")
@click.option("--sheet", "safety_sheet", required=True, help="Where its safety sheet lies.")
@click.option("--made-by", metavar="CODE", help="The trained person who made it; else who acts.")
@click.option("--made-on", callback=read_date, metavar="DATE", help="Else today.")
@click.option("--abv", "abv_percent", type=NUMBER, help="% vol; else that of the base.")
@click.option("--ml", "volume_ml", type=NUMBER, metavar="ML", help="How much was made.")
@json_option
@pass_invocation
def spike(
    inv: Invocation,
    label: str,
    fault: str,
    base: str,
    stock: str,
    safety_sheet: str,
    made_by: str | None,
    made_on: date | None,
    abv_percent: float | None,
    volume_ml: float | None,
    as_json: bool,
) -> None:
    """Keep a spike under LABEL: a known-sound spirit with a fault made up in it."""
    from panel.records.planting import MAKING, NOSE_ONLY, SpikeMade, keep_spike

    made = SpikeMade(
        *(label, Fault(fault), base, stock, safety_sheet, made_by, abv_percent, volume_ml),
        made_on=made_on,
    )
    with options_named(), inv.writing() as db:
        line = keep_spike(db, made, now=inv.now(), by=inv.by)
    if as_json:
        emit_json(line)
    else:
        click.echo(f"{line.sample} is kept: {fault} on {base}.")
    say(NOSE_ONLY)
    say(MAKING)


@command.command("noses")
@as_of_option
@json_option
@pass_invocation
def noses(inv: Invocation, as_of: date | None, as_json: bool) -> None:
    """What each nose catches and stops over all mornings, and which families are not shown."""
    from panel.questions.passing import mornings_answer
    from panel.words.passing_words import mornings_lines

    with inv.reading() as db:
        found = mornings_answer(db, until=as_of or inv.today(db))
    if as_json:
        emit_json(found)
    else:
        click.echo("\n".join(mornings_lines(found)))


@command.command("slips")
@to_option
@json_option
@pass_invocation
def slips(inv: Invocation, place: str | None, as_json: bool) -> None:
    """List which casks nobody may empty; with --to a large-print slip a warehouse."""
    from panel.questions.passing import do_not_empty
    from panel.report.paper import slips_page
    from panel.words.passing_words import slip_lines

    if place is not None:
        write_page(
            inv, place, "do not empty", lambda db, day: slips_page(do_not_empty(db, day), day)
        )
        return
    with inv.reading() as db:
        found = do_not_empty(db, inv.today(db))
    if as_json:
        emit_json(SlipsTold(found))
    elif found:
        click.echo("\n".join(slip_lines(found)))
    else:
        say("Passing holds no cask.")


@command.command("lift")
@click.argument("cask")
@json_option
@pass_invocation
def lift(inv: Invocation, cask: str, as_json: bool) -> None:
    """Lift the hold of CASK that noses set: another person, after a second nosing."""
    from panel.records.acts import Act
    from panel.records.lifting import lift_passing_hold

    by = inv.proved(Act.LIFT)
    with inv.writing() as db:
        done = lift_passing_hold(db, cask, now=inv.now(), by=by)
    if as_json:
        emit_json(done)
    else:
        click.echo(
            f"{done.filling} is free: {', '.join(done.passed_by)} passed it in {done.session} "
            f"(it was held for: {done.reason})."
        )
