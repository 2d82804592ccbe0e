"""`oakpanel register`: samples drawn, litres of pure alcohol, why, and what became of them."""

from __future__ import annotations

from datetime import date

import click

from panel.cli.answers import emit_json, say, table
from panel.cli.invocation import (
    Invocation,
    as_of_option,
    json_option,
    pass_invocation,
    read_date,
)
from panel.words.rule_words import SAMPLES_LAST_WORD


@click.group("register", invoke_without_command=True)
@click.option("--from", "first", callback=read_date, metavar="DATE", help="First day.")
@click.option("--to", "last", callback=read_date, metavar="DATE", help="Last day.")
@as_of_option
@json_option
@pass_invocation
@click.pass_context
def command(
    ctx: click.Context,
    inv: Invocation,
    /,
    first: date | None,
    last: date | None,
    as_of: date | None,
    as_json: bool,
) -> None:
    """List what was drawn from casks, by day."""
    if ctx.invoked_subcommand is not None:
        return
    from panel.questions.register import sample_register

    with inv.reading() as db:
        found = sample_register(db, first=first, last=last, as_of=as_of or inv.today(db))
    if as_json:
        emit_json(found)
        return
    rows = [
        (
            *(line.drawn_on or "-", line.sample, line.cask),
            "-" if line.millilitres is None else f"{line.millilitres:g}",
            "-" if line.left_ml is None else f"{line.left_ml:.0f}",
            "-" if line.lpa is None else f"{line.lpa:.4f}",
            *(line.reason or "-", line.fate or "-"),
        )
        for line in found.lines
    ]
    click.echo(
        table(("drawn", "sample", "cask", "mL", "left", "LPA", "why", "what became of it"), rows)
    )
    click.echo(f"\n{len(rows)} lines, {found.lpa:.3f} litres of pure alcohol.")
    if found.not_counted:
        click.echo(
            f"What {', '.join(found.not_counted)} pour is not taken off before the reveal: it "
            "would tell the key."
        )
    if found.open_lines:
        click.echo(
            f"{found.open_lines} lines do not say why or what became of it: "
            "`oakpanel register tell SAMPLE`."
        )
    say(SAMPLES_LAST_WORD)


@command.command("tell")
@click.argument("sample")
@click.option("--reason", help="Why it was drawn.")
@click.option("--fate", help="What became of it: nosed and poured away, kept, destroyed ...")
@json_option
@pass_invocation
def tell(inv: Invocation, sample: str, reason: str | None, fate: str | None, as_json: bool) -> None:
    """Keep why SAMPLE was drawn, or what became of it."""
    from panel.records.register import account_for

    with inv.writing() as db:
        told = account_for(db, sample, reason=reason, fate=fate, now=inv.now(), by=inv.by)
    if as_json:
        emit_json(told)
    else:
        click.echo(f"{sample}: {told.reason or 'no reason'}; {told.fate or 'no fate'}.")
