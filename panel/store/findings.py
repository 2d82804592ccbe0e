"""One thing that `oakpanel db check` looked at, and how much it matters."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Level(StrEnum):
    """How much a finding matters."""

    GOOD = "good"
    WARNING = "warning"
    FAULT = "fault"


class Way(StrEnum):
    """By what an edit is found."""

    FILE = "the database alone"
    HEAD = "a head that was printed"
    SEEN = "the last head this account saw"


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at; `way` says by what an edit of the records would be found."""

    about: str
    level: Level
    words: str
    way: Way | None = None
