"""What a load did, or what is at fault."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from panel.intake.kinds import Kind
from panel.problems import Problem


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

    def sentence(self) -> str:
        """Return the counts as a person reads them."""
        counts = f"{self.accepted:,} new, {self.changed:,} changed, {self.unchanged:,} unchanged"
        return f"{self.kind.value}: {counts}"
