"""Can this panel be trusted: agreement, repeatability and verdicts of one session."""

from analysis.agreement.indices.incomplete import RankTest
from analysis.agreement.one_session.assess import assess_agreement
from analysis.agreement.one_session.evening import EveningNote, evening_note
from analysis.agreement.one_session.figure_values import SampleEffect, SampleMean, Variance
from analysis.agreement.one_session.result import (
    Agreement,
    AssessorAgreement,
    AssessorNote,
    DescriptorAgreement,
    PrivateFact,
    Unjudged,
    WhyNot,
)
from analysis.agreement.one_session.small_panel import SmallPanel
from analysis.agreement.one_session.swap_check import ChangedNote, SwapCheck
from analysis.agreement.one_session.swaps import Swap
from analysis.agreement.one_session.waiting import Waiting, WaitingNote
from analysis.agreement.sessions.drift import Drift, DriftPoint, reference_drift
from analysis.agreement.sessions.one_model import over_sessions
from analysis.agreement.sessions.over_sessions import NoteOverSessions, PersonOverSessions
from analysis.agreement.sessions.span import assess_span
from analysis.agreement.sessions.span_result import (
    Span,
    SpanAssessor,
    SpanDescriptor,
    SpanNote,
    SpanSession,
)
from analysis.agreement.sessions.two_casks import PairNote, TwoCasks, two_casks
from analysis.agreement.settings import AgreementSettings
from analysis.agreement.verdict import ICC_QUESTIONS, AssessorWord, PairWord, PanelWord, Verdict
from analysis.agreement.verdict.serving import OrderSaid, Served

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
    "OrderSaid",
    "PairNote",
    "PairWord",
    "PanelWord",
    "PersonOverSessions",
    "PrivateFact",
    "RankTest",
    "SampleEffect",
    "SampleMean",
    "Served",
    "SmallPanel",
    "Span",
    "SpanAssessor",
    "SpanDescriptor",
    "SpanNote",
    "SpanSession",
    "Swap",
    "SwapCheck",
    "TwoCasks",
    "Unjudged",
    "Variance",
    "Verdict",
    "Waiting",
    "WaitingNote",
    "WhyNot",
    "assess_agreement",
    "assess_span",
    "evening_note",
    "over_sessions",
    "reference_drift",
    "two_casks",
]
