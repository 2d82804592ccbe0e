"""Passing: is each cask of a parcel sound, and what do the noses catch that say so."""

from .morning import passing_found
from .mornings import mornings_found, true_share
from .result import (
    BlockFound,
    CaskFound,
    FamilyFound,
    FamilyWord,
    MorningsFound,
    NoseFound,
    NowWord,
    PassingFound,
    PassState,
    SoundFound,
    StandsNow,
    TrueHolds,
)
from .shares import Share, exact_interval, share_of

__all__ = [
    "BlockFound",
    "CaskFound",
    "FamilyFound",
    "FamilyWord",
    "MorningsFound",
    "NoseFound",
    "NowWord",
    "PassState",
    "PassingFound",
    "Share",
    "SoundFound",
    "StandsNow",
    "TrueHolds",
    "exact_interval",
    "mornings_found",
    "passing_found",
    "share_of",
    "true_share",
]
