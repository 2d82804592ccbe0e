"""Which casks suit a target, and how sure that is."""

from analysis.target.match import match_casks
from analysis.target.nosed import NosedLine, SampleNosed, sample_against
from analysis.target.notes import NoteReach, note_reach
from analysis.target.result import CaskMatch, LeftOut, Match
from analysis.target.target import Target, TargetLine

__all__ = [
    "CaskMatch",
    "LeftOut",
    "Match",
    "NosedLine",
    "NoteReach",
    "SampleNosed",
    "Target",
    "TargetLine",
    "match_casks",
    "note_reach",
    "sample_against",
]
