"""Can this panel be trusted: agreement, repeatability and verdicts of one session."""

from analysis.agreement.assess import assess_agreement
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
from analysis.agreement.verdict import AssessorWord, PanelWord

__all__ = [
    "Agreement",
    "AgreementSettings",
    "AssessorAgreement",
    "AssessorNote",
    "AssessorWord",
    "DescriptorAgreement",
    "PanelWord",
    "PrivateFact",
    "SampleEffect",
    "SampleMean",
    "Variance",
    "assess_agreement",
]
