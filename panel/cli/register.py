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
from panel.figures import in_digits
from panel.kinds import Clarity
from panel.words.elsewhere_words import carried_lines
from panel.words.register_words import (
    BOOKED,
    fates_words,
    left_out_lines,
    month_lines,
    reversed_lines,
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
            "-" if line.millilitres is None else in_digits(line.millilitres, "g"),
            "-" if line.left_ml is None else f"{line.left_ml:.0f}",
            "-" if line.lpa is None else in_digits(line.lpa, ".4f"),
            *(line.reason or "-", line.fate or "-"),
        )
        for line in found.lines
    ]
    click.echo(
        table(("drawn", "sample", "cask", "mL", "left", "LPA", "why", "what became of it"), rows)
    )
    click.echo(f"\n{len(rows)} lines, {in_digits(found.lpa, '.3f')} litres of pure alcohol.")
    for line in (*left_out_lines(found.not_counted), *reversed_lines(found)):
        click.echo(line)
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
    """Keep why SAMPLE was drawn, or what became of it, where nothing stands yet."""
    from panel.records.acts import Act
    from panel.records.register import account_for

    by = inv.proved(Act.REGISTER)
    with inv.writing() as db:
        told = account_for(db, sample, reason=reason, fate=fate, now=inv.now(), by=by)
    if as_json:
        emit_json(told)
    else:
        click.echo(f"{sample}: {told.reason or 'no reason'}; {told.fate or 'no fate'}.")


@command.command("look")
@click.argument("sample")
@click.option("--colour", help="What colour it has in the glass: pale straw, amber ...")
@click.option("--clarity", type=click.Choice([each.value for each in Clarity]), help="How clear.")
@json_option
@pass_invocation
def look(
    inv: Invocation, sample: str, colour: str | None, clarity: str | None, as_json: bool
) -> None:
    """Keep colour and clarity of SAMPLE, as the pourer sees it (--by a pourer or a lead).

    Nobody who scores is shown them: they stand on the page of the cask once every session that
    pours the sample is revealed.
    """
    from panel.records.looks import note_look

    seen = Clarity(clarity) if clarity else None
    with inv.writing() as db:
        done = note_look(db, sample, colour=colour, clarity=seen, now=inv.now(), by=inv.by)
    if as_json:
        emit_json(done)
    else:
        told = [word for word in (done.colour, done.clarity and done.clarity.value) if word]
        click.echo(f"{sample}: {', '.join(told)}. Kept from whoever scores.")


@command.command("reverse")
@click.argument("sample")
@click.option("--because", required=True, help="Why the line is reversed; kept in the register.")
@click.option("--ml", type=float, metavar="ML", help="How much was drawn, mL.")
@click.option("--reason", help="Why it was drawn.")
@click.option("--fate", help="What became of it.")
@json_option
@pass_invocation
def reverse(
    inv: Invocation,
    sample: str,
    because: str,
    ml: float | None,
    reason: str | None,
    fate: str | None,
    as_json: bool,
) -> None:
    """Reverse the line of SAMPLE and write what is right. Both lines stay."""
    from panel.records.acts import Act
    from panel.records.register import reverse_line

    by = inv.proved(Act.REGISTER)
    with inv.writing() as db:
        done = reverse_line(
            *(db, sample),
            because=because,
            millilitres=ml,
            reason=reason,
            fate=fate,
            now=inv.now(),
            by=by,
        )
    if as_json:
        emit_json(done)
    else:
        amount = (
            "mL not on record"
            if done.millilitres is None
            else (f"{in_digits(done.millilitres, 'g')} mL")
        )
        stands = f"{amount}; {done.reason or 'no reason'}; {done.fate or 'no fate'}"
        click.echo(f"{sample}: the line is reversed. It stands as: {stands}.")


@command.command("session")
@click.argument("name")
@click.option("--fate", help="What became of the leftovers: poured away, kept sealed, destroyed.")
@click.option("--spikes", help="What became of the references made up for it.")
@click.option("--posted", multiple=True, metavar="SAMPLE", help="A sample that was posted.")
@click.option("--posted-to", metavar="WHOM", help="To whom those were posted.")
@click.option("--reason", help="Why drawn, where nothing is on record; else: a blind session.")
@json_option
@pass_invocation
def session(
    inv: Invocation,
    name: str,
    fate: str | None,
    spikes: str | None,
    posted: tuple[str, ...],
    posted_to: str | None,
    reason: str | None,
    as_json: bool,
) -> None:
    """Keep what became of all samples of session NAME; what is told already stays."""
    from panel.records.acts import Act
    from panel.records.register import account_for_session

    by = inv.proved(Act.REGISTER)
    with inv.writing() as db:
        told = account_for_session(
            *(db, name),
            leftovers=fate,
            spikes=spikes,
            posted=posted,
            posted_to=posted_to,
            reason=reason or f"blind session {name}",
            now=inv.now(),
            by=by,
        )
    if as_json:
        emit_json(told)
    else:
        click.echo(fates_words(told))


@command.command("carried")
@json_option
@pass_invocation
def carried(inv: Invocation, as_json: bool) -> None:
    """What went to other sites in packs: sent, received and destroyed, mL and pure alcohol."""
    from panel.session.elsewhere.recalled import carried_register

    with inv.reading() as db:
        found = carried_register(db)
    if as_json:
        emit_json(found)
    else:
        click.echo("\n".join(carried_lines(found)))


@command.command("months")
@click.option("--from", "first", callback=read_date, metavar="DATE", help="First day of a draw.")
@click.option("--to", "last", callback=read_date, metavar="DATE", help="Last day of a draw.")
@as_of_option
@json_option
@pass_invocation
def months(
    inv: Invocation, first: date | None, last: date | None, as_of: date | None, as_json: bool
) -> None:
    """Pure alcohol a month, out and in, by reason."""
    from panel.questions.register import sample_register
    from panel.questions.register_months import by_month

    with inv.reading() as db:
        found = sample_register(db, first=first, last=last, as_of=as_of or inv.today(db))
    answer = by_month(found)
    if as_json:
        emit_json(answer)
        return
    click.echo("\n".join([*month_lines(answer), BOOKED]))
    say(SAMPLES_LAST_WORD)
