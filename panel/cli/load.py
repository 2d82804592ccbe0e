"""`oakpanel load KIND FILE`."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json, progress, say
from panel.cli.invocation import Invocation, json_option, pass_invocation
from panel.intake.kinds import Kind

if TYPE_CHECKING:
    from panel.intake.report import LoadReport
    from panel.problems import Problem

SHOWN_AT_MOST = 100
NAMED_AT_MOST = 12
ROWS_NAMED = 6


@click.command(short_help="Read records from a CSV or Excel file.")
@click.argument("kind", type=click.Choice([one.value for one in Kind]))
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--check", is_flag=True, help="Only say what loading would do; write nothing.")
@click.option("--create", is_flag=True, help="Make unknown assessors, samples and descriptors.")
@click.option("--update", is_flag=True, help="Let a score that differs replace the recorded one.")
@click.option("--sheet", metavar="NAME", help="Which sheet of a workbook.")
@json_option
@pass_invocation
def command(
    invocation: Invocation,
    kind: str,
    file: Path,
    check: bool,
    create: bool,
    update: bool,
    sheet: str | None,
    as_json: bool,
) -> None:
    """Read records from a CSV or Excel file, checked row by row before a single one is written.

    All faults are said at once, each with its row, its column and what would be right; then
    nothing is written. Loading the same file twice changes nothing. An absent column leaves what
    is recorded; an empty cell clears it.

    The columns of a kind are those of `oakpanel save KIND FILE --template`. Scores come long
    (descriptor, score) or wide (one column a descriptor). CSV is UTF-8, with commas, semicolons
    or tabs; dates are 2026-11-25; a decimal comma only where the file leaves no doubt of it.
    """
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
                progress=shown,
            )
    if as_json:
        emit_json(report)
    else:
        show(report, check=check)
    if report.problems:
        raise SystemExit(1)


def show(report: LoadReport, *, check: bool) -> None:
    """Say what a load did, or what is at fault."""
    if report.problems:
        show_problems(report)
        return
    for rows, problem in grouped(report.questions)[:SHOWN_AT_MOST]:
        say(f"To be asked: {problem.sentence()}{_also(rows)}")
    for what, names in report.created.items():
        more = f" and {len(names) - NAMED_AT_MOST:,} more" if len(names) > NAMED_AT_MOST else ""
        click.echo(f"New {what}: {', '.join(names[:NAMED_AT_MOST])}{more}")
    if report.written:
        click.echo(f"{report.sentence()}.")
    elif check and report.accepted + report.changed:
        click.echo(f"{report.sentence()}. Checked only; nothing was written.")
    else:
        click.echo(f"{report.sentence()}. Nothing to write.")


def show_problems(report: LoadReport) -> None:
    """List the faults; the same one in many rows stands once, with the rows."""
    groups = grouped(report.problems)
    total = len(report.problems) + report.more_problems
    faults = "1 fault" if total == 1 else f"{total:,} faults"
    say(f"{report.file} has {faults}; nothing was written.")
    for rows, problem in groups[:SHOWN_AT_MOST]:
        say(f"  {problem.sentence()}{_also(rows)}")
    if len(groups) > SHOWN_AT_MOST:
        say(f"  ... and {len(groups) - SHOWN_AT_MOST:,} more kinds of fault; --json has them all.")


def grouped(problems: tuple[Problem, ...]) -> list[tuple[list[int], Problem]]:
    """Return each fault once, with all the rows that have it."""
    groups: dict[tuple[str, str, str], tuple[list[int], Problem]] = {}
    for problem in problems:
        key = (problem.column, problem.value, problem.message)
        groups.setdefault(key, ([], problem))[0].append(problem.row)
    return list(groups.values())


def _also(rows: list[int]) -> str:
    others = rows[1:]
    if not others:
        return ""
    named = ", ".join(str(row) for row in others[:ROWS_NAMED])
    more = f" and {len(others) - ROWS_NAMED:,} more" if len(others) > ROWS_NAMED else ""
    return f" (also in row{'s' if len(others) > 1 else ''} {named}{more})"
