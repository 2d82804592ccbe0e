"""How each kind of record is checked row by row, and which names its rows refer to."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib import import_module
from typing import Any

from pydantic import ValidationError
from sqlalchemy import select
from sqlalchemy.orm import InstrumentedAttribute

from panel.intake.cells import SAID_BEFORE, RowModel
from panel.intake.columns import Columns, rows_adapter
from panel.intake.kinds import Kind
from panel.intake.load import Load, all_names, fetch
from panel.intake.partly import further_faults, read_partly
from panel.intake.table import Table
from panel.problems import Problem
from panel.store.casks import Cask, Filling, Make
from panel.store.lexicon import Descriptor
from panel.store.sessions import PanelSession
from panel.store.targets import StoredTarget


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
    Kind.PLANS: ("PlanRow", {"target": ("target", StoredTarget.name)}),
    Kind.ANSWERS: ("AnswerRow", {"session": ("session", PanelSession.name)}),
    Kind.TRACES: ("TraceRow", {"session": ("session", PanelSession.name)}),
    Kind.STAGES: ("StageRow", {"session": ("session", PanelSession.name)}),
}


@cache
def record_kind(kind: Kind) -> RecordKind:
    """Return how a kind other than scores is taken in."""
    module = import_module(f"panel.intake.{kind.value}")
    row, names = KINDS[kind]
    return RecordKind(module.COLUMNS, getattr(module, row), getattr(module, f"take_{kind}"), names)


RawRow = dict[str, Any]


@dataclass(frozen=True)
class CheckedRows:
    """The sound rows of a table; the others as they stand and as far as they can be read."""

    sound: list[Any]
    raw: list[RawRow]
    partly: list[RowModel]
    problems: list[Problem]


def check_rows(model: type[RowModel], table: Table, today: date) -> CheckedRows:
    """Check the cells of every row, and every row by itself."""
    names = model.model_fields.keys()
    places = [(i, name) for i, name in enumerate(table.headings) if name in names]
    raw = [{"at": row.number, **{name: row.cells[i] for i, name in places}} for row in table.rows]
    adapter = rows_adapter(model)
    context = {"today": today}
    try:
        return CheckedRows(adapter.validate_python(raw, context=context), [], [], [])
    except ValidationError as error:
        problems, bad = _problems(error, raw, table)
        sound = [row for i, row in enumerate(raw) if i not in bad]
        unsound = [row for i, row in enumerate(raw) if i in bad]
        partly = [read_partly(model, row, today) for row in unsound]
        known = set(problems)
        further = _further(table.file, zip(unsound, partly, strict=True))
        problems += [found for found in further if found not in known]
        rows = adapter.validate_python(sound, context=context)
        return CheckedRows(rows, unsound, partly, problems)


def _further(file: str, rows: Iterable[tuple[RawRow, RowModel]]) -> Iterator[Problem]:
    """What each faulty row's own checks say of the cells that could be read."""
    for row, read in rows:
        for said in further_faults(read):
            column = str(said.get("column", ""))
            value = str(row.get(column) or said.get("cell", ""))
            yield Problem(file, row["at"], column, value, str(said["words"]))


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
        missing = detail["type"] in {"missing", SAID_BEFORE}
        bad.add(int(index))
        if missing:
            continue  # the heading is missing, or the column open, which was said once
        said = detail.get("ctx", {})
        column = str(field[0]) if field else str(said.get("column", ""))
        value = str(row.get(column) or said.get("cell", ""))
        problems.append(Problem(table.file, row["at"], column, value, detail["msg"]))
    return problems, bad
