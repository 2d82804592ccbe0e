"""What a load did, or what is at fault in a file, line by line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panel.intake.report import LoadReport
    from panel.problems import Problem

NAMED_AT_MOST = 12
ROWS_NAMED = 6


def load_lines(report: LoadReport, *, check: bool) -> Iterator[str]:
    """Say what is new, and what was written."""
    for what, names in report.created.items():
        more = f" and {len(names) - NAMED_AT_MOST:,} more" if len(names) > NAMED_AT_MOST else ""
        yield f"New {what}: {', '.join(names[:NAMED_AT_MOST])}{more}"
    if report.written:
        yield f"{report.sentence()}."
    elif check and report.accepted + report.changed:
        yield f"{report.sentence()}. Checked only; nothing was written."
    else:
        yield f"{report.sentence()}. Nothing to write."


def question_lines(report: LoadReport, *, at_most: int | None = None) -> Iterator[str]:
    """Say what may be so but is odd."""
    for rows, problem in grouped(report.questions)[:at_most]:
        yield f"To be asked: {problem.sentence()}{_also(rows)}"


def fault_lines(report: LoadReport, *, at_most: int | None = None) -> Iterator[str]:
    """List the faults; the same one in many rows stands once, with the rows."""
    groups = grouped(report.problems)
    total = len(report.problems) + report.more_problems
    faults = "1 fault" if total == 1 else f"{total:,} faults"
    yield f"{report.file} has {faults}; nothing was written."
    for rows, problem in groups[:at_most]:
        yield f"  {problem.sentence()}{_also(rows)}"
    if at_most is not None and len(groups) > at_most:
        yield f"  ... and {len(groups) - at_most:,} more kinds of fault; --json has them all."


def grouped(problems: Sequence[Problem]) -> list[tuple[list[int], Problem]]:
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
