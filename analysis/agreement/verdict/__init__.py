"""Every sentence that is said of a panel, in one place.

A sentence names points on the 0-100 line and ends in what to do next, so that the screen, the
command line and the report all say the same.
"""

from analysis.agreement.verdict.panel import DescriptorFacts, descriptor_verdict, session_verdict
from analysis.agreement.verdict.people import (
    NoteFacts,
    assessor_verdict,
    private_sentence,
    swap_verdict,
)
from analysis.agreement.verdict.words import AssessorWord, PanelWord, Verdict

__all__ = [
    "AssessorWord",
    "DescriptorFacts",
    "NoteFacts",
    "PanelWord",
    "Verdict",
    "assessor_verdict",
    "descriptor_verdict",
    "private_sentence",
    "session_verdict",
    "swap_verdict",
]
