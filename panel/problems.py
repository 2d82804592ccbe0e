"""A fault in a file: where it is, what stands there and what would be right."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Problem:
    """One fault. `row` counts as a spreadsheet does (the heading is row 1); 0 is the whole file."""

    file: str
    row: int
    column: str
    value: str
    message: str

    def sentence(self) -> str:
        """Return the fault as a person reads it."""
        place = self.file if self.row == 0 else f"{self.file}, row {self.row}"
        if self.column:
            place += f", column {self.column}"
        found = f" ({self.value!r})" if self.value else ""
        return f"{place}{found}: {self.message}"
