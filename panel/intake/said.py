"""What somebody says of a file that it does not tell itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from panel.intake.day_order import DayOrder
from panel.intake.letters import Letters


@dataclass(frozen=True)
class Said:
    """What was said of a file with this load."""

    columns: Mapping[str, str | None] = field(default_factory=dict)
    """Our column by the file's heading; None leaves it out."""
    dates: Mapping[str, DayOrder] = field(default_factory=dict)
    """By our column, or of all under ''."""
    letters: Letters | None = None
    heading_row: int | None = None

    @property
    def compared(self) -> dict[str, str | None]:
        """The columns by headings as they are compared."""
        from panel.intake.columns import plain_heading

        return {plain_heading(heading): column for heading, column in self.columns.items()}
