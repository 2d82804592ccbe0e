"""`oakpanel save KIND FILE`."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import click

from panel.cli.answers import emit_json, progress, say
from panel.cli.invocation import Invocation, json_option, pass_invocation
from panel.intake.kinds import Kind


@click.command(short_help="Write records as load reads them.")
@click.argument("kind", type=click.Choice([one.value for one in Kind]))
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--template", is_flag=True, help="Only the headings, to be filled in.")
@click.option("--names", is_flag=True, help="With the real names of people (assessors).")
@click.option("--wide", is_flag=True, help="One column a descriptor (scores).")
@click.option(
    "--session", "sessions", multiple=True, metavar="S", help="Only this one (scores, own-scores)."
)
@click.option("--force", is_flag=True, help="Replace a file that is there already.")
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
    as_json: bool,
) -> None:
    """Write records as load reads them: CSV, or a workbook where FILE ends in .xlsx.

    Loading the file into an empty database gives the same records again. PINs are never written,
    nor anything of a session that is not revealed yet.
    """
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


def _refuse_wrong_options(
    kind: Kind, *, names: bool, wide: bool, sessions: tuple[str, ...]
) -> None:
    if names and kind is not Kind.ASSESSORS:
        raise click.UsageError("--names goes with assessors only.")
    if wide and kind is not Kind.SCORES:
        raise click.UsageError("--wide goes with scores only.")
    if sessions and kind not in {Kind.SCORES, Kind.OWN_SCORES}:
        raise click.UsageError("--session goes with scores and own-scores only.")


def _need_lead(invocation: Invocation) -> None:
    from panel.intake.who_loads import refuse_names
    from panel.records.acts import Act

    by = invocation.proved(Act.EXPORT)
    with invocation.reading() as db:
        refuse_names(db, by)
