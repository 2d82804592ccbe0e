"""The registry by kind of session of its page to hand on."""

from __future__ import annotations

from collections.abc import Callable

from panel.kinds import SessionKind
from panel.report.own_words import own_words_page
from panel.report.passing import passing_page
from panel.report.session import session_page
from panel.report.sets import difference_page, ranking_page
from panel.report.stages import stages_page
from panel.report.traces import traces_page

SESSION_REPORTS: dict[SessionKind, Callable[..., str]] = {
    SessionKind.PROFILE: session_page,
    SessionKind.OWN_WORDS: own_words_page,
    SessionKind.PASSING: passing_page,
    SessionKind.STRONGER: difference_page,
    SessionKind.TWO_AND_TWO: difference_page,
    SessionKind.RANKING: ranking_page,
    SessionKind.TRACE: traces_page,
    SessionKind.ODD_ONE_OUT: difference_page,
    SessionKind.LIKE_THE_FIRST: difference_page,
    SessionKind.STAGES: stages_page,
}
"""Each takes the answer that `panel.questions.kinds` gives for the same kind."""
