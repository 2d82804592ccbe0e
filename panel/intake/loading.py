"""Taking files, rows and single records in: all faults at once, one transaction, one log entry."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from panel.clock import site_date
from panel.intake.columns import Columns, check_headings, plain_heading, rows_can_be_read
from panel.intake.decimals import settle_decimals
from panel.intake.kinds import SCORE_KINDS, Kind
from panel.intake.load import Load, Progress, RowOutcome
from panel.intake.only_new import refuse_known
from panel.intake.reading import read_bytes, read_table
from panel.intake.report import LoadReport
from panel.intake.row_checks import check_names, check_rows, record_kind
from panel.intake.table import Cleaner, Marks, Row, Table
from panel.problems import Problem
from panel.store.engine import Store
from panel.store.house import read_setting
from panel.store.log import append_entry
from panel.unswept import unswept

__all__ = ["LoadReport", "add_record", "columns_of", "load_file", "load_rows"]

TYPED = "form"
NO_ROWS = "there are headings but no rows below them: nothing to load"


def columns_of(kind: Kind, headings: Sequence[str] = ()) -> Columns:
    """Return the headings that a kind may have; scores with these *headings* may be wide."""
    if kind not in SCORE_KINDS:
        return record_kind(kind).columns
    from panel.intake.score_rows import COLUMNS, OWN, WIDE, is_wide

    if kind is Kind.OWN_SCORES:
        return OWN
    return WIDE if is_wide([plain_heading(heading) for heading in headings]) else COLUMNS


def load_file(
    store: Store,
    kind: Kind | str,
    path: Path | str,
    *,
    now: datetime,
    by: str,
    check: bool = False,
    create: bool = False,
    update: bool = False,
    sheet: str | None = None,
    progress: Progress | None = None,
) -> LoadReport:
    """Load a CSV or Excel file, or with `check` only say what loading it would do.

    With faults nothing is written and the report carries all of them. `create` makes the
    assessors, samples and descriptors that scores name and nobody knows; `update` lets a score
    that differs from the recorded one replace it (the old one is kept in the history).

    Raises
    ------
    IntakeError
        The file cannot be read.
    StoreError
        The database cannot be used; nothing was written.
    """
    kind, path = Kind(kind), Path(path)
    data = read_bytes(path)
    start = LoadReport(kind, path.name, hashlib.sha256(data).hexdigest(), 0)
    options = Options(now, by, check, create, update, progress or _silent)
    with unswept():
        table, problems = read_table(data, path.name, kind, columns_of(kind).known, sheet)
        if table is None:
            return replace(start, problems=tuple(problems))
        return _load(store, start, table, problems, options)


def load_rows(
    store: Store,
    kind: Kind | str,
    rows: Sequence[Mapping[str, str]],
    *,
    now: datetime,
    by: str,
    file: str = TYPED,
    first_row: int = 2,
    check: bool = False,
    only_new: bool = False,
) -> LoadReport:
    """Load rows that stand in memory, through the same checks as a file's.

    All rows have the same keys; what is no key leaves the record untouched. With `only_new` a
    record that stands there already is a fault.
    """
    kind = Kind(kind)
    cells = Cleaner()
    headings = tuple(rows[0]) if rows else ()
    if any(row.keys() != rows[0].keys() for row in rows):
        raise ValueError("rows in memory all have the same keys: an absent one would clear")
    table = Table(
        file,
        headings,
        max(first_row - 1, 0),
        [
            Row(number, [cells[row[heading]] for heading in headings])
            for number, row in enumerate(rows, start=first_row)
        ],
        Marks.POINT,
    )
    text = json.dumps([dict(row) for row in rows], sort_keys=True, ensure_ascii=False)
    start = LoadReport(kind, file, hashlib.sha256(text.encode()).hexdigest(), 0)
    return _load(store, start, table, [], Options(now, by, check=check, only_new=only_new))


def add_record(
    store: Store, kind: Kind | str, values: Mapping[str, str], *, now: datetime, by: str
) -> LoadReport:
    """Load one record typed into a form, through the same checks as a file's row.

    Its faults carry row 0 and the column, so that a form can show each beside its field.
    """
    return load_rows(store, kind, [values], now=now, by=by, first_row=0)


def _silent(_done: int, _total: int) -> None:
    """Show no progress."""


@dataclass(frozen=True)
class Options:
    """How a load was asked for."""

    now: datetime
    by: str
    check: bool = False
    create: bool = False
    update: bool = False
    progress: Progress = _silent
    only_new: bool = False


def _load(
    store: Store, start: LoadReport, table: Table, problems: list[Problem], options: Options
) -> LoadReport:
    kind = start.kind
    with store.read() as db:
        today = site_date(options.now, str(read_setting(db, "time_zone")))
    columns = columns_of(kind, table.headings)
    table, faults = check_headings(table, columns, kind.value)
    readable = rows_can_be_read(table, columns)
    numbers = columns.numbers
    if columns.open:
        numbers |= set(table.headings) - set(columns.known)
    table, marks = settle_decimals(table, numbers)
    problems = [*problems, *faults, *marks]
    rows, take, faults = _read_rows(kind, table, today)
    problems += faults
    report = replace(start, rows=len(table.rows))
    if not readable:
        return replace(report, problems=_settled(problems))
    if not table.rows and not problems:
        nothing = Problem(table.file, table.heading_row, "", "", NO_ROWS)
        return replace(report, questions=(nothing,))
    return _write(store, report, _Checked(table, rows, take, today, problems), options)


Take = Callable[[Load, Any], None]


def _read_rows(kind: Kind, table: Table, today: date) -> tuple[Any, Take, list[Problem]]:
    """Return the sound rows of a table, what takes them in, and the faults of the others."""
    if kind in SCORE_KINDS:
        return _read_score_rows(kind, table, today)
    record = record_kind(kind)
    checked = check_rows(record.model, table, today)

    def take(load: Load, sound: Any) -> None:
        load.unsound = checked.partly
        if load.only_new:
            refuse_known(load, kind, sound)
        record.take(load, sound)
        check_names(load, checked.raw, record.names)

    return checked.sound, take, checked.problems


def _read_score_rows(kind: Kind, table: Table, today: date) -> tuple[Any, Take, list[Problem]]:
    from panel.intake.score_rows import read_own_scores, read_scores
    from panel.intake.scores import take_own_scores, take_scores

    if kind is Kind.OWN_SCORES:
        words, faults = read_own_scores(table, today)
        return words, take_own_scores, faults
    file, faults = read_scores(table, today)
    return file, take_scores, faults


@dataclass(frozen=True)
class _Checked:
    """A file whose cells are checked, and what takes its sound rows in."""

    table: Table
    rows: Any
    take: Callable[[Load, Any], None]
    today: date
    problems: list[Problem]


def _write(store: Store, report: LoadReport, checked: _Checked, options: Options) -> LoadReport:
    opened: AbstractContextManager[Session] = store.read() if options.check else store.write()
    with opened as db:
        load = Load(
            db=db,
            file=report.file,
            today=checked.today,
            now=options.now,
            by=options.by,
            headings=frozenset(checked.table.headings),
            check=options.check,
            create=options.create,
            update=options.update,
            only_new=options.only_new,
            progress=options.progress,
            problems=checked.problems,
        )
        with db.no_autoflush:
            checked.take(load, checked.rows)
        report = _counted(report, load)
        changes = report.accepted + report.changed
        if report.problems or options.check or not changes:
            db.rollback()
            return report
        append_entry(db, at=load.now, by=load.by, action="load", details=_details(report))
    return replace(report, written=True)


def _counted(report: LoadReport, load: Load) -> LoadReport:
    report = replace(report, questions=tuple(load.questions))
    if load.problems:
        return replace(
            report, problems=_settled(load.problems), more_problems=load.left_out_problems
        )
    return replace(
        report,
        accepted=load.tally[RowOutcome.NEW],
        changed=load.tally[RowOutcome.CHANGED],
        unchanged=load.tally[RowOutcome.UNCHANGED],
        created={name: tuple(made) for name, made in load.created.items() if made},
    )


def _details(report: LoadReport) -> dict[str, object]:
    return {
        "kind": report.kind.value,
        "sha256": report.sha256,
        "new": report.accepted,
        "changed": report.changed,
        "unchanged": report.unchanged,
        "created": {name: len(made) for name, made in report.created.items()},
    }


def _settled(problems: list[Problem]) -> tuple[Problem, ...]:
    """Return the faults by row, one a cell: the first said of it is the cause of the others."""
    seen: set[tuple[int, str, str]] = set()
    kept = []
    for problem in problems:
        place = (problem.row, problem.column, problem.value)
        if place not in seen or not problem.value:
            seen.add(place)
            kept.append(problem)
    return tuple(sorted(kept, key=lambda problem: problem.row))
