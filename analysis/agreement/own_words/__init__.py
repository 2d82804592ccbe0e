"""A session in which everybody names notes of their own: what the words have in common."""

from analysis.agreement.own_words.assess import assess_own_words
from analysis.agreement.own_words.blocks import WordLeftOut
from analysis.agreement.own_words.lexicon import Candidate
from analysis.agreement.own_words.mfa import ConsensusMap, consensus_map
from analysis.agreement.own_words.procrustes import (
    ProcrustesFit,
    ProcrustesTest,
    procrustes_fit,
    procrustes_test,
)
from analysis.agreement.own_words.result import (
    Axis,
    OwnWords,
    PlacedSample,
    PlacedWord,
    SecondOpinion,
    WordsAssessor,
)
from analysis.agreement.own_words.statis import Compromise, compromise

__all__ = [
    "Axis",
    "Candidate",
    "Compromise",
    "ConsensusMap",
    "OwnWords",
    "PlacedSample",
    "PlacedWord",
    "ProcrustesFit",
    "ProcrustesTest",
    "SecondOpinion",
    "WordLeftOut",
    "WordsAssessor",
    "assess_own_words",
    "compromise",
    "consensus_map",
    "procrustes_fit",
    "procrustes_test",
]
