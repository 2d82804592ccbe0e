"""Can this panel be trusted: agreement, repeatability and verdicts of one session."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..when_asked import names_from

if TYPE_CHECKING:
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
    from .sessions.drift import chart_drift
    from .sessions.drift_result import Drift, DriftPoint, DriftSize, DriftStart
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
    from .verdict import ICC_QUESTIONS, AssessorWord, PairAsked, PairWord, PanelWord, Verdict
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
    "DriftSize",
    "DriftStart",
    "EveningNote",
    "NoteOverSessions",
    "OrderSaid",
    "PairAsked",
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
    "chart_drift",
    "evening_note",
    "over_sessions",
    "two_casks",
]

__getattr__ = names_from(
    __name__,
    {
        "ICC_QUESTIONS": "verdict",
        "Agreement": "one_session.result",
        "AgreementSettings": "settings",
        "AssessorAgreement": "one_session.result",
        "AssessorNote": "one_session.result",
        "AssessorWord": "verdict",
        "ChangedNote": "one_session.swap_check",
        "DescriptorAgreement": "one_session.result",
        "Drift": "sessions.drift_result",
        "DriftPoint": "sessions.drift_result",
        "DriftSize": "sessions.drift_result",
        "DriftStart": "sessions.drift_result",
        "EveningNote": "one_session.evening",
        "NoteOverSessions": "sessions.over_sessions",
        "OrderSaid": "verdict.serving",
        "PairNote": "sessions.two_casks",
        "PairAsked": "verdict",
        "PairWord": "verdict",
        "PanelWord": "verdict",
        "PersonOverSessions": "sessions.over_sessions",
        "PrivateFact": "one_session.result",
        "RankTest": "indices.incomplete",
        "SampleEffect": "one_session.figure_values",
        "SampleMean": "one_session.figure_values",
        "Served": "verdict.serving",
        "SmallPanel": "one_session.small_panel",
        "Span": "sessions.span_result",
        "SpanAssessor": "sessions.span_result",
        "SpanDescriptor": "sessions.span_result",
        "SpanNote": "sessions.span_result",
        "SpanSession": "sessions.span_result",
        "Swap": "one_session.swaps",
        "SwapCheck": "one_session.swap_check",
        "TwoCasks": "sessions.two_casks",
        "Unjudged": "one_session.result",
        "Variance": "one_session.figure_values",
        "Verdict": "verdict",
        "Waiting": "one_session.waiting",
        "WaitingNote": "one_session.waiting",
        "WhyNot": "one_session.result",
        "assess_agreement": "one_session.assess",
        "assess_span": "sessions.span",
        "chart_drift": "sessions.drift",
        "evening_note": "one_session.evening",
        "over_sessions": "sessions.one_model",
        "two_casks": "sessions.two_casks",
    },
)
