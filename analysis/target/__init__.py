"""Which casks suit a target, and how sure that is."""

from .match import chance_of_lines, ends_of, match_casks
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
    "chance_of_lines",
    "ends_of",
    "match_casks",
    "note_reach",
    "sample_against",
]
