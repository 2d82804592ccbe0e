"""Which casks suit a target, and how sure that is."""

from analysis.target.match import match_casks
from analysis.target.result import CaskMatch, LeftOut, Match
from analysis.target.target import Target, TargetLine

__all__ = ["CaskMatch", "LeftOut", "Match", "Target", "TargetLine", "match_casks"]
