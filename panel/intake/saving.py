"""Writing records as loading reads them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from sqlalchemy.orm import Session

from panel.figures import in_digits
from panel.intake.file_out import write_sheet
from panel.intake.kinds import OF_PEOPLE, SCORE_KINDS, Kind
from panel.intake.load import Load, Progress
from panel.intake.saved_records import SAVED, Sheet, saved_assessors
from panel.intake.template import write_template
from panel.store.engine import Store
from panel.store.house import writes_commas


@dataclass(frozen=True)
class SaveReport:
    """What was written, and sentences for what was left out on purpose."""

    kind: Kind
    file: str
    rows: int
    left_out: tuple[str, ...] = ()
    template: bool = False

    def sentence(self) -> str:
        """Return the count as a person reads it."""
        if self.template:
            return f"{self.file}: a template for {self.kind}, to be filled in"
        return (
            f"{self.file}: {in_digits(self.rows, ',')} "
            f"{'row' if self.rows == 1 else 'rows'} of {self.kind}"
        )


def save_file(
    store: Store,
    kind: Kind | str,
    path: Path | str,
    *,
    names: bool = False,
    wide: bool = False,
    sessions: Sequence[str] = (),
    force: bool = False,
    progress: Progress | None = None,
) -> SaveReport:
    """Write all records of a kind to a CSV file, or to a workbook where the name ends in .xlsx.

    `names` adds the real names of people; PINs are never
    written. `wide` gives scores one column a descriptor, `sessions` only those of some sessions.

    Raises
    ------
    IntakeError
        The file is there already (and not `force`), cannot be written, or cannot hold a value.
    UnknownRecord, WrongState
        A session that is not there, or is not revealed yet.
    """
    kind, path = Kind(kind), Path(path)
    left_out: tuple[str, ...] = ()
    with store.read() as db:
        if kind in SCORE_KINDS:
            sheet, left_out = _scores(db, sessions, kind, progress or _silent, wide=wide)
        elif kind is Kind.ANSWERS:
            from panel.intake.answers import saved_answers

            sheet = saved_answers(db)
        elif kind is Kind.TRACES:
            from panel.intake.traces import saved_traces

            sheet = saved_traces(db)
        elif kind is Kind.STAGES:
            from panel.intake.stages import saved_stages

            sheet = saved_stages(db)
        elif kind is Kind.ASSESSORS:
            sheet = saved_assessors(db, names=names)
        else:
            sheet = SAVED[kind](db)
        comma = writes_commas(db)
        private = names or kind in OF_PEOPLE
        rows = write_sheet(sheet, path, force=force, private=private, comma=comma)
    return SaveReport(kind, path.name, rows, left_out)


def save_template(
    kind: Kind | str, path: Path | str, *, names: bool = False, force: bool = False
) -> SaveReport:
    """Write the headings of a kind, to be filled in below; that wants no database.

    Above them stand what each column means and an example, which loading passes over.

    Raises
    ------
    IntakeError
        The file is there already (and not `force`), or cannot be written.
    """
    kind, path = Kind(kind), Path(path)
    write_template(kind, template_headings(kind, names=names), path, force=force)
    return SaveReport(kind, path.name, 0, template=True)


def template_headings(kind: Kind, *, names: bool = False) -> tuple[str, ...]:
    """Return every heading that a kind may have."""
    from panel.intake.loading import columns_of

    known = columns_of(kind).known
    if kind is Kind.ASSESSORS and not names:
        return tuple(heading for heading in known if heading != "name")
    return known


def _scores(
    db: Session, sessions: Sequence[str], kind: Kind, progress: Progress, *, wide: bool
) -> tuple[Sheet, tuple[str, ...]]:
    from panel.intake import saved_scores as saved

    chosen = saved.choose_sessions(db, sessions, kind)
    reader = Load(
        db=db,
        file="",
        today=date.max,
        now=datetime.max.replace(tzinfo=UTC),
        by="",
        headings=frozenset(),
    )
    shapes = {Kind.SCORES: saved.saved_scores, Kind.OWN_SCORES: saved.saved_own_scores}
    write = saved.saved_wide if wide else shapes[kind]
    left_out = (*chosen.left_out, *saved.off_line_said(db, chosen.sessions, kind))
    return write(reader, chosen.sessions, progress), left_out


def _silent(_done: int, _total: int) -> None:
    """Show no progress."""
