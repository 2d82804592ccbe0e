"""Which casks suit a target, and how sure that is."""

from analysis.target.match import match_casks
from analysis.target.notes import NoteReach, note_reach
from analysis.target.result import CaskMatch, LeftOut, Match
from analysis.target.target import Target, TargetLine

__all__ = [
    "CaskMatch",
    "LeftOut",
    "Match",
    "NoteReach",
    "Target",
    "TargetLine",
    "match_casks",
    "note_reach",
]
