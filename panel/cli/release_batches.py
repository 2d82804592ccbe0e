"""`oakpanel release check` and `release batches`: a batch beside the one before; all of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import click

from panel.cli.answers import RECKONING, emit_json, folded, say, waiting
from panel.cli.completing import a_release, a_target
from panel.cli.invocation import (
    Invocation,
    as_of_option,
    json_option,
    pass_invocation,
    read_near_date,
)
from panel.cli.pictured import check_picture, drawn_here, picture_option
from panel.cli.session_acting import leading, shown


@click.command("check")
@click.argument("name", shell_complete=a_release)
@click.option("--session", metavar="NAME", help="Plan the blind check as the draft NAME.")
@click.option("--beside", metavar="SAMPLE", help="Of the batch before: another than its blend.")
@click.option(
    "--held-on", callback=read_near_date, metavar="DATE", help="Of the draft; else today."
)
@click.option("--keep", is_flag=True, help="Keep what it showed beside the batch.")
@json_option
@pass_invocation
def check(
    inv: Invocation,
    /,
    name: str,
    session: str | None,
    beside: str | None,
    held_on: date | None,
    keep: bool,
    as_json: bool,
) -> None:
    """Nose the batch NAME blind beside the one before it: plan it, see it, keep what it showed.

    Both are poured twice for everybody, on the lines of the target. NAME was proposed with
    --as-batch; a bench blend of it stands for it, and one of the batch before, or the sample of a
    bottle that was kept.
    """
    from panel.release.batch_check import checked_batch, keep_found
    from panel.words.batch_words import checked_lines

    if session is not None and keep:
        raise click.UsageError("Plan the check with --session, or keep what it showed: not both.")
    if session is None and (beside is not None or held_on is not None):
        raise click.UsageError("--beside and --held-on go with --session NAME.")
    planned = None
    if session is not None:
        planned = _planned(inv, name, session, held_on, beside)
    if keep:
        with inv.writing() as db:
            found = keep_found(db, name, on=inv.today(db), now=inv.now(), by=inv.by)
    else:
        with inv.reading() as db, waiting(RECKONING):
            found = checked_batch(db, name, as_of=inv.today(db))
    if as_json:
        emit_json(found)
        return
    click.echo("\n".join(checked_lines(found)))
    if planned is not None:
        click.echo("\n" + planned)
        say(f"Next: oakpanel session seal {shown(session or '')}")
    elif found.sample is None:
        say(f"Next: oakpanel release check {shown(found.release)} --session NAME")
    elif found.found is not None and found.kept is None:
        say(f"Next: oakpanel release check {shown(found.release)} --keep")


def _planned(
    inv: Invocation, name: str, session: str, held_on: date | None, beside: str | None
) -> str:
    from panel.release.batch_check import check_plan, name_check, too_little
    from panel.session.plan import plan_session

    with leading(inv) as acting:
        on = held_on or inv.today(acting.db)
        plan = check_plan(acting.db, name, session, held_on=on, beside=beside)
        summary = plan_session(acting.db, plan, now=inv.now(), by=acting.by)
        name_check(acting.db, name, replace(plan, name=session), now=inv.now(), by=acting.by)
        short = too_little(acting.db, plan)
    return "\n".join(filter(None, (folded(summary.lines()), folded(short))))


@click.command("batches")
@click.argument("target", shell_complete=a_target)
@picture_option
@as_of_option
@json_option
@pass_invocation
def batches(
    inv: Invocation, target: str, picture: str | None, as_of: date | None, as_json: bool
) -> None:
    """Tell all batches of TARGET over the years: as our panel found them, or as reckoned."""
    from panel.pictures.batches import over_the_years
    from panel.release.batches import batches_of
    from panel.words.batch_words import batches_lines

    check_picture(picture, as_json=as_json)
    with inv.reading() as db, waiting(RECKONING):
        found = batches_of(db, target, as_of=as_of or inv.today(db))
    if drawn_here(picture, over_the_years(found) if picture else ()):
        return
    if as_json:
        emit_json(found)
    else:
        click.echo("\n".join(batches_lines(found)))
