"""A session in which everybody names notes of their own: what the words have in common."""

from .assess import assess_own_words
from .blocks import WordLeftOut
from .lexicon import Candidate
from .mfa import ConsensusMap, consensus_map
from .procrustes import (
    ProcrustesFit,
    ProcrustesTest,
    procrustes_fit,
    procrustes_test,
)
from .result import (
    Axis,
    OwnWords,
    PlacedSample,
    PlacedWord,
    SecondOpinion,
    WordsAssessor,
)
from .statis import Compromise, compromise

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
