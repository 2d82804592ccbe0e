"""Can this panel be trusted: agreement, repeatability and verdicts of one session."""

from .indices.incomplete import RankTest
from .one_session.assess import assess_agreement
from .one_session.evening import EveningNote, evening_note
from .one_session.figure_values import SampleEffect, SampleMean, Variance
from .one_session.result import (
    Agreement,
    AssessorAgreement,
    AssessorNote,
    DescriptorAgreement,
    PrivateFact,
    Unjudged,
    WhyNot,
)
from .one_session.small_panel import SmallPanel
from .one_session.swap_check import ChangedNote, SwapCheck
from .one_session.swaps import Swap
from .one_session.waiting import Waiting, WaitingNote
from .sessions.drift import Drift, DriftPoint, reference_drift
from .sessions.one_model import over_sessions
from .sessions.over_sessions import NoteOverSessions, PersonOverSessions
from .sessions.span import assess_span
from .sessions.span_result import (
    Span,
    SpanAssessor,
    SpanDescriptor,
    SpanNote,
    SpanSession,
)
from .sessions.two_casks import PairNote, TwoCasks, two_casks
from .settings import AgreementSettings
from .verdict import ICC_QUESTIONS, AssessorWord, PairWord, PanelWord, Verdict
from .verdict.serving import OrderSaid, Served

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
