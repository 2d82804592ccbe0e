"""Taking checked rows in: one transaction, one log entry, or nothing at all."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy.orm import Session

from panel.intake.as_filed import AsFiled
from panel.intake.load import Load, Progress, RowOutcome
from panel.intake.own_headings import keep
from panel.intake.report import LoadReport
from panel.intake.said import Said
from panel.intake.table import Table
from panel.problems import Problem
from panel.store.engine import Store
from panel.store.log import append_entry


def silent(_done: int, _total: int) -> None:
    """Show no progress."""


@dataclass(frozen=True)
class Options:
    """How a load was asked for."""

    now: datetime
    by: str
    check: bool = False
    create: bool = False
    update: bool = False
    progress: Progress = silent
    only_new: bool = False
    sure: bool = True
    missed: frozenset[str] = frozenset()
    unread: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Checked:
    """A file whose cells are checked, and what takes its sound rows in."""

    report: LoadReport
    table: Table
    rows: Any
    take: Callable[[Load, Any], None]
    today: date
    problems: list[Problem]
    said: Said = field(default_factory=Said)
    headings: Sequence[str] = ()
    """Those of the file itself, by which the next of its shape is known."""
    filed: AsFiled | None = None
    """The file as its house wrote it; rows in memory have no other words than ours."""

    def told(self, problems: Sequence[Problem]) -> tuple[Problem, ...]:
        """Return faults in the words of the file."""
        return tuple(problems) if self.filed is None else self.filed.told(problems)


def write(store: Store, checked: Checked, options: Options) -> LoadReport:
    """Take a checked file in, or say what would come of it."""
    opened: AbstractContextManager[Session] = store.read() if options.check else store.write()
    with opened as db:
        report = taken(db, checked, options).report
        if not report.written:
            db.rollback()
    return report


@dataclass(frozen=True)
class Taken:
    """What came of a file, and the names in its faulty rows."""

    report: LoadReport
    missed: frozenset[str] = frozenset()


def taken(db: Session, checked: Checked, options: Options) -> Taken:
    """Take a checked file into a transaction and tell the log, unless it has faults."""
    load = Load(
        db=db,
        file=checked.report.file,
        today=checked.today,
        now=options.now,
        by=options.by,
        headings=frozenset(checked.table.headings),
        check=options.check,
        create=options.create,
        update=options.update,
        only_new=options.only_new,
        sure=options.sure,
        progress=options.progress,
        problems=checked.problems,
        missed=options.missed,
        unread=options.unread,
    )
    with db.no_autoflush:
        checked.take(load, checked.rows)
    report = _counted(checked, load)
    if report.problems or options.check:
        cells = (cell for row in load.unsound for cell in vars(row).values())
        return Taken(report, frozenset(cell for cell in cells if isinstance(cell, str)))
    asked = {each.column: each.order.value for each in report.dates if not each.by}
    new = keep(db, report.kind, checked.headings, checked.said, asked)
    if new or report.accepted + report.changed:
        append_entry(db, at=options.now, by=options.by, action="load", details=details(report))
        report = replace(report, written=True)
    return Taken(report)


def _counted(checked: Checked, load: Load) -> LoadReport:
    report = replace(checked.report, questions=checked.told(load.questions))
    if load.problems:
        problems = settled(load.problems)
        return replace(
            report,
            problems=checked.told(problems),
            more_problems=load.left_out_problems,
            doubts=sum(each.doubt for each in problems),
        )
    return replace(
        report,
        accepted=load.tally[RowOutcome.NEW],
        changed=load.tally[RowOutcome.CHANGED],
        unchanged=load.tally[RowOutcome.UNCHANGED],
        created={name: tuple(made) for name, made in load.created.items()},
    )


def details(report: LoadReport) -> Mapping[str, object]:
    """Return what the log keeps of a load."""
    return {
        "kind": report.kind.value,
        "sha256": report.sha256,
        "new": report.accepted,
        "changed": report.changed,
        "unchanged": report.unchanged,
        "created": {name: len(made) for name, made in report.created.items()},
    }


def settled(problems: list[Problem]) -> tuple[Problem, ...]:
    """Return the faults by row, one a cell: the first said of it is the cause of the others."""
    seen: set[tuple[int, str, str]] = set()
    kept = []
    for problem in problems:
        place = (problem.row, problem.column, problem.value)
        if place not in seen or not problem.value:
            seen.add(place)
            kept.append(problem)
    return tuple(sorted(kept, key=lambda problem: problem.row))
