"""The registry by kind of session of those who plan, seal and watch sessions."""

from __future__ import annotations

from panel.kinds import SessionKind
from panel.session.held_as import HeldAs
from panel.session.in_own_words import IN_OWN_WORDS
from panel.session.in_sets import IN_SETS
from panel.session.on_lexicon import ON_LEXICON
from panel.session.on_stages import BY_STAGES
from panel.session.on_traces import TRACED
from panel.session.passing import PASSED_OR_HELD

HELD: dict[SessionKind, HeldAs] = {
    SessionKind.PROFILE: ON_LEXICON,
    SessionKind.OWN_WORDS: IN_OWN_WORDS,
    SessionKind.PASSING: PASSED_OR_HELD,
    SessionKind.STRONGER: IN_SETS,
    SessionKind.TWO_AND_TWO: IN_SETS,
    SessionKind.RANKING: IN_SETS,
    SessionKind.TRACE: TRACED,
    SessionKind.ODD_ONE_OUT: IN_SETS,
    SessionKind.LIKE_THE_FIRST: IN_SETS,
    SessionKind.STAGES: BY_STAGES,
}
