"""Can this panel be trusted: agreement, repeatability and verdicts of one session."""

from analysis.agreement.assess import assess_agreement
from analysis.agreement.drift import Drift, DriftPoint, reference_drift
from analysis.agreement.evening import EveningNote, evening_note
from analysis.agreement.incomplete import RankTest
from analysis.agreement.one_model import over_sessions
from analysis.agreement.over_sessions import NoteOverSessions, PersonOverSessions
from analysis.agreement.result import (
    Agreement,
    AssessorAgreement,
    AssessorNote,
    DescriptorAgreement,
    PrivateFact,
    SampleEffect,
    SampleMean,
    Variance,
)
from analysis.agreement.settings import AgreementSettings
from analysis.agreement.small_panel import SmallPanel
from analysis.agreement.span import assess_span
from analysis.agreement.span_result import (
    Span,
    SpanAssessor,
    SpanDescriptor,
    SpanNote,
    SpanSession,
)
from analysis.agreement.swap_check import ChangedNote, SwapCheck
from analysis.agreement.swaps import Swap
from analysis.agreement.verdict import ICC_QUESTIONS, AssessorWord, PanelWord

__all__ = [
    "ICC_QUESTIONS",
    "Agreement",
    "AgreementSettings",
    "AssessorAgreement",
    "AssessorNote",
    "AssessorWord",
    "ChangedNote",
    "DescriptorAgreement",
    "Drift",
    "DriftPoint",
    "EveningNote",
    "NoteOverSessions",
    "PanelWord",
    "PersonOverSessions",
    "PrivateFact",
    "RankTest",
    "SampleEffect",
    "SampleMean",
    "SmallPanel",
    "Span",
    "SpanAssessor",
    "SpanDescriptor",
    "SpanNote",
    "SpanSession",
    "Swap",
    "SwapCheck",
    "Variance",
    "assess_agreement",
    "assess_span",
    "evening_note",
    "over_sessions",
    "reference_drift",
]
