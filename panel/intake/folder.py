"""A folder of files that are called after their kinds, taken in one by one in the right order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from panel.intake.kinds import Kind
from panel.intake.loading import load_file
from panel.intake.who_loads import loader

if TYPE_CHECKING:
    from datetime import datetime

    from panel.intake.report import LoadReport
    from panel.store.engine import Store

ENDINGS = (".csv", ".xlsx")


@dataclass(frozen=True)
class KindFile:
    """A file and the kind that it is called after."""

    kind: Kind
    path: Path


def kind_files(folder: Path) -> tuple[KindFile, ...]:
    """Return the files of a folder that are called after a kind, as an empty database takes them.

    Where a kind has several, CSV goes before Excel.

    Raises
    ------
    OSError
        The folder cannot be looked into.
    """
    there = {path.name.casefold(): path for path in folder.iterdir() if path.is_file()}
    names = ((kind, [f"{kind.value}{ending}" for ending in ENDINGS]) for kind in Kind)
    found = ((kind, next((there[n] for n in each if n in there), None)) for kind, each in names)
    return tuple(KindFile(kind, path) for kind, path in found if path is not None)


def load_folder(
    store: Store,
    files: Sequence[KindFile],
    *,
    now: datetime,
    by: str | None,
    tell: Callable[[KindFile], None],
) -> list[LoadReport]:
    """Load files one after the other, each whole or not at all; stop at the first with faults.

    *tell* is called with each before it is read.

    Raises
    ------
    IntakeError, NotAllowed, StoreError
        A file cannot be read; whoever loads may not; the database cannot be used. What was loaded
        before stays.
    """
    reports = []
    for each in files:
        tell(each)
        with store.read() as db:
            code = loader(db, by, each.kind)
        report = load_file(store, each.kind, each.path, now=now, by=code)
        reports.append(report)
        if report.problems:
            break
    return reports
