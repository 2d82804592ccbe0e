"""Which casks suit a target, and how sure that is."""

from analysis.target.match import chance_of_lines, ends_of, match_casks
from analysis.target.result import CaskMatch, LeftOut, Match
from analysis.target.target import Target, TargetLine

__all__ = [
    "CaskMatch",
    "LeftOut",
    "Match",
    "Target",
    "TargetLine",
    "chance_of_lines",
    "ends_of",
    "match_casks",
]
