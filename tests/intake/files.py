"""Small files for tests, and loading them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from panel.intake.kinds import Kind
from panel.intake.loading import LoadReport, load_file
from panel.intake.saving import save_file, save_template
from panel.store.engine import Store

NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)
BY = "lead"

MAKES = """\
make,site,cereal,phenol_ppm,campaign,note
plain,Sallow Weir,barley,1.5,,
smoky,Sallow Weir,barley,40,autumn,heavy
"""
CASKS = """\
cask,wood,size_l,filled_on,fill_number,fill_abv,fill_bulk_l,filling,make,owner
C1,American oak,200,2010-05-01,1,63.5,190,C1/1,plain,
C2,American oak,200,2012-05-01,1,63.5,195.25,C2/1,smoky,Other House
C3,European oak,500,2015-06-01,2,62,480,C3/1,,
[/x],European oak,500,,,,,,,
"""
DRAWS = """\
sample,kind,cask,drawn_on
C1 spring,cask,C1,2024-01-10
C2 spring,cask,C2,2024-01-10
REF,reference,,2024-01-01
"""
LEXICON = """\
descriptor,stage,low_words,high_words
hearth smoke,nose,not there,fills the room
plum stone,nose,not there,stewed thick
"""
ASSESSORS = "assessor\nAlder\nRowan\n"
STOCK = (
    (Kind.MAKES, MAKES),
    (Kind.CASKS, CASKS),
    (Kind.DRAWS, DRAWS),
    (Kind.LEXICON, LEXICON),
    (Kind.ASSESSORS, ASSESSORS),
)


class House:
    """A database and a folder for its files."""

    def __init__(self, store: Store, folder: Path) -> None:
        self.store = store
        self.folder = folder
        self.number = 0

    def file(self, content: str | bytes, name: str | None = None) -> Path:
        self.number += 1
        path = self.folder / (name or f"file{self.number}.csv")
        path.write_bytes(content.encode() if isinstance(content, str) else content)
        return path

    def load(self, kind: Kind | str, content: str | bytes, **options: Any) -> LoadReport:
        return load_file(self.store, kind, self.file(content), now=NOW, by=BY, **options)

    def take(self, kind: Kind | str, content: str | bytes, **options: Any) -> LoadReport:
        """Load a file that must have no faults."""
        report = self.load(kind, content, **options)
        assert report.problems == (), [problem.sentence() for problem in report.problems]
        return report

    def saved(self, kind: Kind | str, name: str = "saved.csv", **options: Any) -> bytes:
        save_file(self.store, kind, self.folder / name, force=True, **options)
        return (self.folder / name).read_bytes()

    def template(self, kind: Kind | str) -> bytes:
        save_template(kind, self.folder / "template.csv", force=True)
        return (self.folder / "template.csv").read_bytes()


def said(report: LoadReport) -> list[tuple[int, str, str]]:
    """Return row, column and value of each fault."""
    return [(problem.row, problem.column, problem.value) for problem in report.problems]


def message(report: LoadReport, row: int, column: str = "") -> str:
    """Return what is said of one cell."""
    found = [
        problem.message
        for problem in report.problems
        if problem.row == row and column in {"", problem.column}
    ]
    assert found, [problem.sentence() for problem in report.problems]
    return "\n".join(found)


def counts(report: LoadReport) -> tuple[int, int, int]:
    return report.accepted, report.changed, report.unchanged


def table(headings: str, *rows: Sequence[object]) -> str:
    """Return a CSV text of plain cells."""
    lines = [headings, *(",".join(str(cell) for cell in row) for row in rows)]
    return "\n".join(lines) + "\n"
