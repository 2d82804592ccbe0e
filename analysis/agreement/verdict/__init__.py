"""Every sentence that is said of a panel, in one place.

A sentence names points on the 0-100 line and ends in what to do next, so that the screen, the
command line and the report all say the same.
"""

from .indices import ICC_QUESTIONS
from .pair import PairAsked, PairWord
from .panel import (
    DescriptorFacts,
    blanks_sentence,
    descriptor_verdict,
    never_scored_sentence,
)
from .people import (
    NoteFacts,
    PersonFacts,
    assessor_verdict,
    private_sentence,
)
from .session import (
    SmallPanelFacts,
    session_verdict,
    small_panel_verdict,
)
from .swaps import (
    SwapFacts,
    WaitingFacts,
    swap_check_sentence,
    swap_verdict,
    waiting_sentence,
)
from .words import AssessorWord, PanelWord, Verdict

__all__ = [
    "ICC_QUESTIONS",
    "AssessorWord",
    "DescriptorFacts",
    "NoteFacts",
    "PairAsked",
    "PairWord",
    "PanelWord",
    "PersonFacts",
    "SmallPanelFacts",
    "SwapFacts",
    "Verdict",
    "WaitingFacts",
    "assessor_verdict",
    "blanks_sentence",
    "descriptor_verdict",
    "never_scored_sentence",
    "private_sentence",
    "session_verdict",
    "small_panel_verdict",
    "swap_check_sentence",
    "swap_verdict",
    "waiting_sentence",
]
