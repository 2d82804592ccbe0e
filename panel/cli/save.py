"""`oakpanel save KIND FILE`."""

from __future__ import annotations

from contextlib import closing
from datetime import date
from pathlib import Path

import click

from panel.cli.answers import emit_json, progress, say
from panel.cli.completing import a_session
from panel.cli.invocation import (
    Invocation,
    as_of_option,
    json_option,
    pass_invocation,
    read_near_date,
)
from panel.intake.kinds import GOES_WITH, LAID, Kind, goes_with


@click.command(short_help="Write records as load reads them.")
@click.argument("kind", type=click.Choice([*(one.value for one in Kind), *LAID]))
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--template", is_flag=True, help="Headings to fill in, with meanings.")
@click.option("--names", is_flag=True, help="With the real names of people (assessors).")
@click.option("--wide", is_flag=True, help="One column a descriptor (scores).")
@click.option(
    "--session",
    "sessions",
    multiple=True,
    metavar="S",
    help="Only this one (scores, own-scores).",
    shell_complete=a_session,
)
@click.option("--force", is_flag=True, help="Replace a file that is there already.")
@click.option(
    "--bottling-date",
    "bottling_on",
    callback=read_near_date,
    metavar="DATE",
    help="Casks as they will be then (stock).",
)
@as_of_option
@json_option
@pass_invocation
def command(
    invocation: Invocation,
    kind: str,
    file: Path,
    template: bool,
    names: bool,
    wide: bool,
    sessions: tuple[str, ...],
    force: bool,
    bottling_on: date | None,
    as_of: date | None,
    as_json: bool,
) -> None:
    """Write records as load reads them: CSV, or a workbook where FILE ends in .xlsx.

    Loading the file into an empty database gives the same records again. PINs are never written,
    nor anything of a session that is not revealed yet.

    A template has what each column means, an example and then the headings; in a workbook, lists
    of the words a column may hold. It is filled in below the headings: what stands above them is
    never loaded.

    For a notebook, beside scores and targets: stock is what lies in each cask on a day, drawn is
    each draw with what is known of its cask, mixing is how notes mix. Nothing loads these.
    """
    if kind in LAID:
        if template or names or wide or sessions:
            raise click.UsageError(f"{kind} takes --as-of, --bottling-date and --force only.")
        _save_laid(invocation, kind, file, as_of, bottling_on, force=force, as_json=as_json)
        return
    if as_of or bottling_on:
        raise click.UsageError("--as-of and --bottling-date go with stock, drawn and mixing only.")
    from panel.intake.saving import save_file, save_template

    _refuse_wrong_options(Kind(kind), names=names, wide=wide, sessions=sessions)
    if template:
        report = save_template(kind, file, names=names, force=force)
    else:
        if names:
            _need_lead(invocation)
        with (
            closing(invocation.open(readonly=True)) as store,
            progress(f"Saving {kind}") as shown,
        ):
            report = save_file(
                store,
                kind,
                file,
                names=names,
                wide=wide,
                sessions=sessions,
                force=force,
                progress=shown,
            )
    for sentence in report.left_out:
        say(sentence)
    if as_json:
        emit_json(report)
    else:
        click.echo(f"{report.sentence()}.")


def _save_laid(
    invocation: Invocation,
    kind: str,
    file: Path,
    as_of: date | None,
    bottling_on: date | None,
    *,
    force: bool,
    as_json: bool,
) -> None:
    from panel.questions.laid_out import Laid, save_laid

    with invocation.reading() as db:
        day = as_of or invocation.today(db)
        report = save_laid(db, Laid(kind), file, as_of=day, on=bottling_on, force=force)
    if as_json:
        emit_json(report)
    else:
        click.echo(f"{report.sentence()}.")


def _refuse_wrong_options(
    kind: Kind, *, names: bool, wide: bool, sessions: tuple[str, ...]
) -> None:
    given = {"names": names, "wide": wide, "session": bool(sessions)}
    for choice, chosen in given.items():
        if chosen and kind not in GOES_WITH[choice]:
            raise click.UsageError(f"--{choice} {goes_with(choice)}.")


def _need_lead(invocation: Invocation) -> None:
    from panel.intake.who_loads import refuse_names
    from panel.records.acts import Act

    by = invocation.proved(Act.EXPORT)
    with invocation.reading() as db:
        refuse_names(db, by)
