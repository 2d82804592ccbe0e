"""Taking files, rows and single records in: all faults at once, one transaction, one log entry."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from panel.clock import site_date
from panel.intake.as_filed import AsFiled
from panel.intake.columns import (
    Columns,
    check_headings,
    plain_heading,
    rows_can_be_read,
    strange_headings,
)
from panel.intake.day_order import DatesSaid, settle_days
from panel.intake.decimals import settle_decimals
from panel.intake.headings import Finder, shape_of
from panel.intake.kinds import SCORE_KINDS, Kind
from panel.intake.load import Load, Progress
from panel.intake.meanings import column_words, day_columns
from panel.intake.only_new import refuse_known
from panel.intake.own_headings import read_kept, said_faults, under_our_names
from panel.intake.reading import read_bytes, read_table
from panel.intake.report import LoadReport
from panel.intake.row_checks import check_names, check_rows, record_kind
from panel.intake.said import Said
from panel.intake.table import Cleaner, Marks, Row, Table
from panel.intake.taking import Checked, Options, settled, silent, write
from panel.problems import Problem
from panel.store.engine import Store
from panel.store.house import read_setting
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
    sure: bool = False,
    sheet: str | None = None,
    said: Said | None = None,
    progress: Progress | None = None,
) -> LoadReport:
    """Load a CSV or Excel file, or with `check` only say what loading it would do.

    With faults nothing is written and the report carries all of them. `create` makes the
    assessors, samples and descriptors that scores name and nobody knows; `update` lets a score
    that differs from the recorded one replace it (the old one is kept in the history). `said` is
    what the file itself does not tell: its own headings, the order of its dates. `sure` takes
    values that are hardly so.

    Raises
    ------
    IntakeError
        The file cannot be read.
    StoreError
        The database cannot be used; nothing was written.
    """
    kind, path = Kind(kind), Path(path)
    options = Options(now, by, check, create, update, progress or silent, sure=sure)
    with unswept():
        with store.read() as db:
            checked = read_file(db, kind, path, now=now, sheet=sheet, said=said or Said())
        return checked if isinstance(checked, LoadReport) else write(store, checked, options)


def read_file(
    db: Session, kind: Kind, path: Path, *, now: datetime, sheet: str | None = None, said: Said
) -> Checked | LoadReport:
    """Return a file whose cells are checked; a report where there is nothing to take in.

    Raises
    ------
    IntakeError
        The file cannot be read.
    """
    data = read_bytes(path)
    start = LoadReport(kind, path.name, hashlib.sha256(data).hexdigest(), 0)
    find = finder(db, kind, said)
    table, problems = read_table(data, path.name, kind, find, sheet, said.letters)
    if table is None:
        return replace(start, problems=tuple(problems))
    start = replace(
        start,
        heading_row=table.heading_row,
        rows_above=table.above,
        letters=table.letters,
        headings=tuple(find.named(table.headings)),
    )
    before = find.kept.get(shape_of(table.headings))
    dates = DatesSaid(said.dates, before.dates if before else {})
    named = under_our_names(table, find)
    columns = columns_of(kind, named.headings)
    problems += said_faults(table, find, columns, kind)
    checked = _check(db, start, named, problems, now, dates)
    filed = AsFiled(table, named.headings)
    if isinstance(checked, Checked):
        return replace(checked, said=said, headings=table.headings, filed=filed)
    return replace(checked, problems=filed.told(checked.problems))


def finder(db: Session, kind: Kind, said: Said) -> Finder:
    """Return what finds the headings of a file, by what is said now and was said before."""
    kept = read_kept(db, kind)
    return Finder(partial(columns_of, kind), said.compared, kept, said.heading_row)


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
    sure: bool = True,
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
    with store.read() as db:
        checked = _check(db, start, table, [], now, None)
    if isinstance(checked, LoadReport):
        return checked
    return write(store, checked, Options(now, by, check, only_new=only_new, sure=sure))


def add_record(
    store: Store, kind: Kind | str, values: Mapping[str, str], *, now: datetime, by: str
) -> LoadReport:
    """Load one record typed into a form, through the same checks as a file's row.

    Its faults carry row 0 and the column, so that a form can show each beside its field.
    """
    return load_rows(store, kind, [values], now=now, by=by, first_row=0)


def _check(
    db: Session,
    start: LoadReport,
    table: Table,
    problems: list[Problem],
    now: datetime,
    dates: DatesSaid | None,
) -> Checked | LoadReport:
    """Return a table whose cells are checked; the order of dates is looked at in files only."""
    kind = start.kind
    today = site_date(now, str(read_setting(db, "time_zone")))
    columns = columns_of(kind, table.headings)
    table, faults = check_headings(table, columns, kind, partial(column_words, kind))
    readable = rows_can_be_read(table, columns)
    problems = [*problems, *faults]
    if dates is not None:
        days = settle_days(table, day_columns(kind), dates)
        table, problems = days.table, [*problems, *days.problems]
        start = replace(start, dates=days.taken, open_dates=days.open)
    decimals = settle_decimals(table, _numbers(columns, table))
    table = decimals.table
    rows, take, faults = _read_rows(kind, table, today)
    problems += [*decimals.problems, *faults]
    strangers = tuple(str(heading) for heading in strange_headings(table, columns))
    report = replace(start, rows=len(table.rows), strangers=strangers, commas=decimals.commas)
    if not readable:
        return replace(report, problems=settled(problems))
    if not table.rows and not problems:
        nothing = Problem(table.file, table.heading_row, "", "", NO_ROWS)
        return replace(report, questions=(nothing,))
    return Checked(report, table, rows, take, today, problems)


def _numbers(columns: Columns, table: Table) -> frozenset[str]:
    further = set(table.headings) - set(columns.known) if columns.open else set()
    return columns.numbers | further


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
