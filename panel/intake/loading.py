"""Taking files, rows and single records in: all faults at once, one transaction, one log entry."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from sqlalchemy import select
from sqlalchemy.orm import InstrumentedAttribute, Session

from panel.clock import site_date
from panel.intake.cells import RowModel
from panel.intake.columns import Columns, check_headings, plain_heading, rows_adapter
from panel.intake.decimals import settle_decimals
from panel.intake.kinds import Kind
from panel.intake.load import Load, Outcome, Progress, all_names, fetch
from panel.intake.reading import read_bytes, read_table
from panel.intake.table import Cleaner, Marks, Row, Table
from panel.problems import Problem
from panel.store.casks import Cask, Filling, Make
from panel.store.engine import Store
from panel.store.house import read_setting
from panel.store.lexicon import Descriptor
from panel.store.log import append_entry

TYPED = "form"
ROWS_AT_ONCE = 20_000


@dataclass(frozen=True)
class LoadReport:
    """What a load did. `accepted` are new rows; without problems the three counts are all rows."""

    kind: Kind
    file: str
    sha256: str
    rows: int
    accepted: int = 0
    changed: int = 0
    unchanged: int = 0
    created: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    more_problems: int = 0
    written: bool = False

    def to_dict(self) -> dict[str, Any]:
        """Return the report as it stands in a JSON answer."""
        return {
            "kind": self.kind.value,
            "file": self.file,
            "sha256": self.sha256,
            "rows": self.rows,
            "accepted": self.accepted,
            "changed": self.changed,
            "unchanged": self.unchanged,
            "created": {name: list(made) for name, made in self.created.items()},
            "problems": [problem.to_dict() for problem in self.problems],
            "more_problems": self.more_problems,
            "written": self.written,
        }

    def sentence(self) -> str:
        """Return the counts as a person reads them."""
        counts = f"{self.accepted:,} new, {self.changed:,} changed, {self.unchanged:,} unchanged"
        return f"{self.kind.value}: {counts}"


@dataclass(frozen=True)
class RecordKind:
    """A kind of record: its headings, its row, what takes the rows in, which names it refers to."""

    columns: Columns
    model: type[RowModel]
    take: Callable[[Load, Sequence[Any]], None]
    names: Mapping[str, tuple[str, InstrumentedAttribute[str]]]


WOOD = {"filling": ("filling", Filling.label), "cask": ("cask", Cask.number)}
KINDS: dict[Kind, tuple[str, dict[str, tuple[str, InstrumentedAttribute[str]]]]] = {
    Kind.MAKES: ("MakeRow", {}),
    Kind.CASKS: ("CaskRow", {"make": ("make", Make.name)}),
    Kind.EVENTS: ("EventRow", {**WOOD, "parent": ("filling", Filling.label)}),
    Kind.REGAUGES: ("RegaugeRow", WOOD),
    Kind.DRAWS: ("DrawRow", WOOD),
    Kind.LEXICON: ("LexiconRow", {}),
    Kind.ASSESSORS: ("AssessorRow", {}),
    Kind.TARGETS: ("TargetRow", {"descriptor": ("descriptor", Descriptor.name)}),
}


@cache
def record_kind(kind: Kind) -> RecordKind:
    """Return how a kind other than scores is taken in."""
    module = import_module(f"panel.intake.{kind.value}")
    row, names = KINDS[kind]
    return RecordKind(module.COLUMNS, getattr(module, row), getattr(module, f"take_{kind}"), names)


def columns_of(kind: Kind, headings: Sequence[str] = ()) -> Columns:
    """Return the headings that a kind may have; scores with these *headings* may be wide."""
    if kind is not Kind.SCORES:
        return record_kind(kind).columns
    from panel.intake.score_rows import COLUMNS, WIDE, is_wide

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
    table, problems = read_table(data, path.name, kind, columns_of(kind).known, sheet)
    start = LoadReport(kind, path.name, hashlib.sha256(data).hexdigest(), 0)
    if table is None:
        return replace(start, problems=tuple(problems))
    options = Options(now, by, check, create, update, progress or _silent)
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
) -> LoadReport:
    """Load rows that stand in memory, through the same checks as a file's.

    Every row has the keys of the first; what is no key leaves the record untouched.
    """
    kind = Kind(kind)
    cells = Cleaner()
    headings = tuple(rows[0]) if rows else ()
    table = Table(
        file,
        headings,
        max(first_row - 1, 0),
        [
            Row(number, [cells[row.get(heading, "")] for heading in headings])
            for number, row in enumerate(rows, start=first_row)
        ],
        Marks.POINT,
    )
    text = json.dumps([dict(row) for row in rows], sort_keys=True, ensure_ascii=False)
    start = LoadReport(kind, file, hashlib.sha256(text.encode()).hexdigest(), 0)
    return _load(store, start, table, [], Options(now, by, check=check))


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


def _load(
    store: Store, start: LoadReport, table: Table, problems: list[Problem], options: Options
) -> LoadReport:
    kind = start.kind
    with store.read() as db:
        today = site_date(options.now, str(read_setting(db, "time_zone")))
    columns = columns_of(kind, table.headings)
    table, faults = check_headings(table, columns, kind.value)
    sound_headings = not faults
    numbers = columns.numbers
    if columns.open:
        numbers |= set(table.headings) - set(columns.known)
    table, marks = settle_decimals(table, numbers)
    problems = [*problems, *faults, *marks]
    rows, take, faults = _read_rows(kind, table, today)
    problems += faults
    report = replace(start, rows=len(table.rows))
    if not sound_headings:
        return replace(report, problems=_settled(problems))
    return _write(store, report, _Checked(table, rows, take, today, problems), options)


Take = Callable[[Load, Any], None]


def _read_rows(kind: Kind, table: Table, today: date) -> tuple[Any, Take, list[Problem]]:
    """Return the sound rows of a table, what takes them in, and the faults of the others."""
    if kind is Kind.SCORES:
        from panel.intake.score_rows import read_scores
        from panel.intake.scores import take_scores

        file, faults = read_scores(table, today)
        return file, take_scores, faults
    record = record_kind(kind)
    rows, unsound, faults = check_rows(record.model, table, today)

    def take(load: Load, sound: Any) -> None:
        record.take(load, sound)
        check_names(load, unsound, record.names)

    return rows, take, faults


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
    if load.problems:
        return replace(
            report, problems=_settled(load.problems), more_problems=load.left_out_problems
        )
    return replace(
        report,
        accepted=load.tally[Outcome.NEW],
        changed=load.tally[Outcome.CHANGED],
        unchanged=load.tally[Outcome.UNCHANGED],
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


RawRow = dict[str, Any]


def check_rows(
    model: type[RowModel], table: Table, today: date
) -> tuple[list[Any], list[RawRow], list[Problem]]:
    """Return the sound rows of a table, the others as they stand, and the faults of those."""
    names = model.model_fields.keys()
    places = [(i, name) for i, name in enumerate(table.headings) if name in names]
    raw = [{"at": row.number, **{name: row.cells[i] for i, name in places}} for row in table.rows]
    adapter = rows_adapter(model)
    context = {"today": today}
    try:
        return adapter.validate_python(raw, context=context), [], []
    except ValidationError as error:
        problems, bad = _problems(error, raw, table)
        sound = [row for i, row in enumerate(raw) if i not in bad]
        unsound = [row for i, row in enumerate(raw) if i in bad]
        return adapter.validate_python(sound, context=context), unsound, problems


def check_names(
    load: Load,
    rows: Sequence[RawRow],
    names: Mapping[str, tuple[str, InstrumentedAttribute[str]]],
) -> None:
    """Note unknown names in rows that have other faults too, so that all are said at once."""
    for column, (what, attribute) in names.items():
        asked = {row[column] for row in rows if row.get(column)}
        known = set(fetch(load.db, select(attribute), attribute, asked)) if asked else set()
        for row in rows:
            name = row.get(column)
            if name and name not in known:
                load.unknown(row["at"], column, name, what, all_names(load.db, attribute))


def _problems(
    error: ValidationError, raw: list[dict[str, Any]], table: Table
) -> tuple[list[Problem], set[int]]:
    problems, bad = [], set()
    for detail in error.errors(include_url=False):
        index, *field = detail["loc"]
        row = raw[int(index)]
        missing = detail["type"] == "missing"
        bad.add(int(index))
        if missing:
            continue  # the heading is missing, which was said once
        said = detail.get("ctx", {})
        column = str(field[0]) if field else str(said.get("column", ""))
        value = str(row.get(column) or said.get("cell", ""))
        problems.append(Problem(table.file, row["at"], column, value, detail["msg"]))
    return problems, bad
