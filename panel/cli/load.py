"""`oakpanel load KIND FILE`."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json, progress, say
from panel.cli.edits_back import take_back_option, take_edit_back
from panel.cli.invocation import Invocation, json_option, pass_invocation
from panel.cli.load_said import said_of_file, said_options
from panel.intake.kinds import Kind
from panel.kinds import EditedList

if TYPE_CHECKING:
    from panel.intake.day_order import DayOrder
    from panel.intake.report import LoadReport

SHOWN_AT_MOST = 100
LISTS = {"lexicon": EditedList.LEXICON, "targets": EditedList.TARGETS}
"""What is edited by loading it, and can be taken back."""


@click.command(short_help="Read records from a CSV or Excel file.")
@click.argument("kind", type=click.Choice([one.value for one in Kind]))
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option("--check", is_flag=True, help="Only say what loading would do; write nothing.")
@click.option("--create", is_flag=True, help="Make unknown assessors, samples and descriptors.")
@click.option("--update", is_flag=True, help="Let a score that differs replace the recorded one.")
@click.option("--sheet", metavar="NAME", help="Which sheet of a workbook.")
@said_options
@click.option("--sure", is_flag=True, help="Values that are hardly so were looked at, and are so.")
@take_back_option
@json_option
@pass_invocation
def command(
    invocation: Invocation,
    kind: str,
    file: Path | None,
    check: bool,
    create: bool,
    update: bool,
    sheet: str | None,
    columns: dict[str, str | None],
    dates: dict[str, DayOrder],
    letters: str | None,
    sure: bool,
    take_back: bool,
    as_json: bool,
) -> None:
    """Read records from a CSV or Excel file, checked row by row before a single one is written.

    All faults are said at once, each with its row, its column and what would be right; then
    nothing is written. Loading the same file twice changes nothing. An absent column leaves what
    is recorded; an empty cell clears it.

    The columns of a kind are those of `oakpanel save KIND FILE --template`, which also tells what
    each means; several roles of a person are joined by +, as in lead+assessor. Scores come long
    (descriptor, score) or wide (one column a descriptor).

    Rows above the headings are passed over. Headings of your own are named once, and kept for the
    next file with the same headings: --column Fass=cask --column Bemerkung= (left out). Dates are
    2026-11-25, or 25.11.2026 where a date of the column settles the order; else say --dates. A
    decimal comma is taken where the file leaves no doubt of it. CSV has commas, semicolons or
    tabs. What was taken so is said.

    Of lexicon and targets --take-back writes what stood before the last edit, with no file named.
    """
    if file is None or take_back:
        _take_back(invocation, kind, file, take_back, as_json)
        return
    from panel.intake.loading import load_file
    from panel.intake.who_loads import loader
    from panel.records.acts import Act

    # Assessors come with their roles.
    gives_roles = Kind(kind) is Kind.ASSESSORS and not check
    named = invocation.proved(Act.ROLES) if gives_roles else invocation.by
    with closing(invocation.open(readonly=check)) as store:
        with store.read() as db:
            by = "" if check else loader(db, named, Kind(kind))
        with progress(f"Loading {Kind(kind).value}") as shown:
            report = load_file(
                store,
                Kind(kind),
                file,
                now=invocation.now(),
                by=by,
                check=check,
                create=create,
                update=update,
                sheet=sheet,
                said=said_of_file(columns, dates, letters),
                sure=sure,
                progress=shown,
            )
    if as_json:
        emit_json(report)
    else:
        show(report, check=check)
    if report.problems:
        raise SystemExit(1)


def _take_back(
    inv: Invocation, kind: str, file: Path | None, take_back: bool, as_json: bool
) -> None:
    if not take_back:
        raise click.UsageError("Missing argument 'FILE'.")
    if file is not None:
        raise click.UsageError("Give a file, or --take-back.")
    if kind not in LISTS:
        raise click.UsageError(f"--take-back is for {' and '.join(LISTS)}, not for {kind}.")
    take_edit_back(inv, LISTS[kind], None, as_json)


def show(report: LoadReport, *, check: bool) -> None:
    """Say what a load did, or what is at fault."""
    from panel.words.load_words import fault_lines, load_lines, question_lines

    if report.problems:
        for line in fault_lines(report, at_most=SHOWN_AT_MOST):
            say(line)
        return
    for line in question_lines(report, at_most=SHOWN_AT_MOST):
        say(line)
    for line in load_lines(report, check=check):
        click.echo(line)
