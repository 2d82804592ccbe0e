"""The files of a folder, each of a kind, taken in together: all of them or none."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy.exc import IntegrityError

from panel.errors import IntakeError
from panel.intake.kinds import Kind
from panel.intake.loading import read_file
from panel.intake.report import LoadReport
from panel.intake.said import Said
from panel.intake.taking import Options, taken
from panel.intake.who_loads import loader
from panel.problems import Problem
from panel.unswept import unswept

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session

    from panel.store.engine import Store

ENDINGS = (".csv", ".xlsx")
BRINGS = {
    Kind.MAKES: frozenset({"make"}),
    Kind.CASKS: frozenset({"cask", "filling"}),
    Kind.LEXICON: frozenset({"descriptor"}),
}
"""What later files name: it is not looked for where the file of it could not be read."""


@dataclass(frozen=True)
class KindFile:
    """A file and the kind that it is of."""

    kind: Kind
    path: Path


def load_folder(
    store: Store,
    files: Sequence[KindFile],
    *,
    now: datetime,
    by: str | None,
    tell: Callable[[KindFile], None],
    said: Mapping[Path, Said] | None = None,
    sure: bool = False,
) -> list[LoadReport]:
    """Load files in one transaction: all of them, or with a fault in any of them none.

    All faults of all files are told. *tell* is called with each before it is read; *said* is what
    the files themselves do not tell.

    Raises
    ------
    NotAllowed, StoreError
        Whoever loads may not; the database cannot be used. Nothing was written.
    """
    folder = _Folder(now, by, sure, said or {})
    with unswept(), store.write() as db:
        for each in files:
            tell(each)
            folder.take(db, each)
        if folder.faulty:
            db.rollback()
    if folder.faulty:
        return [replace(report, written=False) for report in folder.reports]
    return folder.reports


@dataclass
class _Folder:
    """What came of the files so far."""

    now: datetime
    by: str | None
    sure: bool
    said: Mapping[Path, Said]
    reports: list[LoadReport] = field(default_factory=list)
    missed: frozenset[str] = frozenset()
    unread: frozenset[str] = frozenset()

    @property
    def faulty(self) -> bool:
        """Whether any file has faults."""
        return any(report.problems for report in self.reports)

    def take(self, db: Session, each: KindFile) -> None:
        """Take a file in, or as much of it as the files after it may name."""
        code = loader(db, self.by, each.kind)
        try:
            checked = read_file(
                db, each.kind, each.path, now=self.now, said=self.said.get(each.path, Said())
            )
        except IntakeError as error:
            problem = Problem(each.path.name, 0, "", "", str(error))
            checked = LoadReport(each.kind, each.path.name, "", 0, problems=(problem,))
        if isinstance(checked, LoadReport):
            self.reports.append(checked)
            if checked.problems:
                self.unread |= BRINGS.get(each.kind, frozenset())
            return
        options = Options(self.now, code, sure=self.sure, missed=self.missed, unread=self.unread)
        with _as_far_as_it_fits(db):
            result = taken(db, checked, options)
            self.reports.append(result.report)
            self.missed |= result.missed


@contextmanager
def _as_far_as_it_fits(db: Session) -> Iterator[None]:
    """Write what a file with faults brings too, for the files that name it; all is taken back."""
    step = db.begin_nested()
    try:
        yield
        db.flush()
        step.commit()
    except IntegrityError:
        step.rollback()
