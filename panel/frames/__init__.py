"""The only bridge from the store to the analysis: the tidy frames and a target.

The columns of the frames are described in `analysis`. A session that is not revealed gives its
codes as samples and nothing about the draws behind them.
"""

from __future__ import annotations

from panel.frames.casks import CASK_COLUMNS, casks_frame, stock_frame
from panel.frames.kinds import session_frame
from panel.frames.own_words import OWN_WORD_COLUMNS, own_words_frame
from panel.frames.passing import PASSING_COLUMNS, mornings_frame, passing_frame
from panel.frames.scores import SCORE_COLUMNS, scores_frame
from panel.frames.targets import target_of
from panel.frames.which_sessions import drawn_as, finished_session, n_doubled, recent_sessions
from panel.store.finding import find_session

__all__ = [
    "CASK_COLUMNS",
    "OWN_WORD_COLUMNS",
    "PASSING_COLUMNS",
    "SCORE_COLUMNS",
    "casks_frame",
    "drawn_as",
    "find_session",
    "finished_session",
    "mornings_frame",
    "n_doubled",
    "own_words_frame",
    "passing_frame",
    "recent_sessions",
    "scores_frame",
    "session_frame",
    "stock_frame",
    "target_of",
]
