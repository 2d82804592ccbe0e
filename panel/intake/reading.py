"""A file to a table of text cells; what it is stands in its first bytes, not in its name."""

from __future__ import annotations

from pathlib import Path

from panel.errors import IntakeError
from panel.intake.csv_text import Unreadable, read_csv
from panel.intake.headings import Finder
from panel.intake.kinds import Kind
from panel.intake.letters import Letters
from panel.intake.table import Table
from panel.intake.workbook import read_workbook
from panel.problems import Problem, with_way

MOST_BYTES = 64 * 2**20
ZIP = b"PK\x03\x04"
OLD_OFFICE = b"\xd0\xcf\x11\xe0"


def read_bytes(path: Path) -> bytes:
    """Return what a file holds.

    Raises
    ------
    IntakeError
        It is not there, is a folder, may not be read, or is larger than any table of ours.
    """
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except IsADirectoryError:
        raise IntakeError(f"{path} is a folder; name a CSV or Excel file in it.") from None
    except FileNotFoundError:
        raise IntakeError(f"There is no file {path}.") from None
    except OSError as error:
        raise IntakeError(f"{path} cannot be read: {error.strerror}.") from error
    if len(data) > MOST_BYTES:
        raise IntakeError(
            f"{path} is larger than {MOST_BYTES // 2**20} MiB, more than any table here needs: "
            "load it in parts."
        )
    return data


def read_table(
    data: bytes,
    file: str,
    kind: Kind,
    find: Finder,
    sheet: str | None = None,
    letters: Letters | None = None,
) -> tuple[Table | None, list[Problem]]:
    """Return the table of a file and the faults of its shape; no table where it has none."""
    try:
        if data.startswith(ZIP):
            return read_workbook(data, file, kind.value, sheet, find)
        if data.startswith(OLD_OFFICE):
            raise Unreadable(file, "an old or a locked Excel workbook: save it as .xlsx, unlocked")
        if sheet is not None:
            wrong = "a CSV file has no sheets; "
            option, field = "leave --sheet out", "leave Sheet empty"
            raise Unreadable(file, with_way(wrong, option=option, at_desk=field))
        return read_csv(data, file, find, letters)
    except Unreadable as refusal:
        return None, [refusal.problem]
