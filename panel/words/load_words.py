"""What a load did, or what is at fault in a file, line by line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from shlex import quote
from typing import TYPE_CHECKING

from panel.figures import in_digits, plural
from panel.intake.day_order import DayOrder
from panel.intake.headings import Since
from panel.intake.letters import Letters

if TYPE_CHECKING:
    from panel.intake.headings import OwnHeading
    from panel.intake.report import LoadReport
    from panel.problems import Problem

NAMED_AT_MOST = 12
SURE = "say --sure (at the desk: Odd values, yes)"
SURE_AT_DESK = "choose yes at Odd values"
ROWS_NAMED = 6
LETTERS = {Letters.WESTERN: "Western (Windows-1252)", Letters.JAPANESE: "Japanese (Windows-932)"}


def reading_lines(report: LoadReport) -> Iterator[str]:
    """Say how the file was read where it left a choice: nothing is taken in silence."""
    if report.letters is not None:
        yield f"The file is not UTF-8: its letters were read as {LETTERS[report.letters]}."
    if report.rows_above:
        rows = (
            "the row above was"
            if report.rows_above == 1
            else f"{report.rows_above} rows above were"
        )
        yield f"The headings stand in row {report.heading_row}; {rows} passed over."
    for since, words in SINCE.items():
        named = [_named(each) for each in report.headings if each.since is since]
        if named:
            yield f"{words}: {', '.join(named)}."
    own = {each.column: each.heading for each in report.headings}
    if report.commas:
        read = (f"{own.get(column, column)} ({cell})" for column, cell in report.commas.items())
        yield f"A comma was read as the decimal mark in {', '.join(read)}."
    for each in report.dates:
        first = "day" if each.order is DayOrder.DAY_FIRST else "month"
        why = f"{each.by} settles it" if each.by else "as was said"
        before = " of an earlier file with these headings" if each.kept else ""
        heading = own.get(each.column, each.column)
        yield f"Dates in {heading} were read {first} first: {why}{before}."


SINCE = {Since.NOW: "Headings named now", Since.BEFORE: "Headings named for an earlier file"}


def _named(each: OwnHeading) -> str:
    return f"{each.heading} is {each.column}" if each.column else f"{each.heading} is left out"


def load_lines(report: LoadReport, *, check: bool) -> Iterator[str]:
    """Say how the file was read, what is new, and what was written."""
    yield from reading_lines(report)
    for what, names in report.created.items():
        more = (
            (f" and {in_digits(len(names) - NAMED_AT_MOST, ',')} more")
            if len(names) > NAMED_AT_MOST
            else ""
        )
        yield f"New {what}: {', '.join(names[:NAMED_AT_MOST])}{more}"
    if report.written:
        yield f"{report.sentence()}."
    elif check and report.accepted + report.changed:
        yield f"{report.sentence()}. Checked only; nothing was written."
    else:
        yield f"{report.sentence()}. Nothing to write."


def question_lines(
    report: LoadReport, *, at_most: int | None = None, at_desk: bool = False
) -> Iterator[str]:
    """Say what may be so but is odd."""
    for rows, problem in grouped(report.questions)[:at_most]:
        yield f"To be asked: {problem.sentence(at_desk=at_desk)}{_also(rows)}"


def fault_lines(report: LoadReport, *, at_most: int | None = None, asks: str = "") -> Iterator[str]:
    """List the faults; the same one in many rows stands once, with the rows.

    *asks* is the key of a page that asks what headings mean; a command has an option instead.
    """
    at_desk, groups = bool(asks), grouped(report.problems)
    total = len(report.problems) + report.more_problems
    faults = "1 fault" if total == 1 else f"{in_digits(total, ',')} faults"
    yield f"{report.file} has {faults}; nothing was written."
    for rows, problem in groups[:at_most]:
        yield f"  {problem.sentence(at_desk=at_desk)}{_also(rows)}"
    if at_most is not None and len(groups) > at_most:
        yield (
            f"  ... and {in_digits(len(groups) - at_most, ',')} more kinds of "
            "fault; --json has them all."
        )
    if report.strangers:
        yield f"{asks} asks what each heading means." if asks else _named_once(report.strangers)
    if report.doubts:
        how, it = SURE_AT_DESK if at_desk else SURE, plural("it is", report.doubts, "they are")
        yield (
            f"{in_digits(report.doubts, ',')} of them may be so: {_doubted(report.problems)}. "
            f"If somebody looked and {it}, {how}."
        )
    yield from reading_lines(report)


def _doubted(problems: Sequence[Problem]) -> str:
    """Return by heading the rows of what may be so."""
    rows: dict[str, list[int]] = {}
    for each in problems:
        if each.doubt:
            rows.setdefault(each.heading or each.column, []).append(each.row)
    return "; ".join(f"{heading} in {_rows(each)}" for heading, each in rows.items())


def _named_once(headings: Sequence[str]) -> str:
    """Return the options for all of them, as a shell takes them."""
    options = " ".join(f"--column {quote(f'{heading}=OURS')}" for heading in headings)
    one = len(headings) == 1
    named = "A heading of your own is" if one else "Headings of your own are"
    return f"{named} named once: {options}; nothing after = leaves it out. At the desk a page asks."


def grouped(problems: Sequence[Problem]) -> list[tuple[list[int], Problem]]:
    """Return each fault once, with all the rows that have it."""
    groups: dict[tuple[str, str, str, str], tuple[list[int], Problem]] = {}
    for problem in problems:
        key = (problem.column, problem.value, problem.cell, problem.message)
        groups.setdefault(key, ([], problem))[0].append(problem.row)
    return list(groups.values())


def _also(rows: list[int]) -> str:
    others = rows[1:]
    return f" (also in {_rows(others)})" if others else ""


def _rows(rows: Sequence[int]) -> str:
    named = ", ".join(str(row) for row in rows[:ROWS_NAMED])
    left = len(rows) - ROWS_NAMED
    more = f" and {in_digits(left, ',')} more" if left > 0 else ""
    return f"{plural('row', len(rows))} {named}{more}"
