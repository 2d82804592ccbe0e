"""Which casks suit a target, and how sure that is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..when_asked import names_from

if TYPE_CHECKING:
    from .match import chance_of_casks, chance_of_lines, ends_of, match_casks
    from .nosed import NosedLine, SampleNosed, sample_against
    from .notes import NoteReach, note_reach
    from .result import CaskMatch, LeftOut, Match
    from .target import Target, TargetLine

__all__ = [
    "CaskMatch",
    "LeftOut",
    "Match",
    "NosedLine",
    "NoteReach",
    "SampleNosed",
    "Target",
    "TargetLine",
    "chance_of_casks",
    "chance_of_lines",
    "ends_of",
    "match_casks",
    "note_reach",
    "sample_against",
]

__getattr__ = names_from(
    __name__,
    {
        "CaskMatch": "result",
        "LeftOut": "result",
        "Match": "result",
        "NosedLine": "nosed",
        "NoteReach": "notes",
        "SampleNosed": "nosed",
        "Target": "target",
        "TargetLine": "target",
        "chance_of_casks": "match",
        "chance_of_lines": "match",
        "ends_of": "match",
        "match_casks": "match",
        "note_reach": "notes",
        "sample_against": "nosed",
    },
)
