"""Readiness of a person in training: dated exercises against what the panel found."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..when_asked import names_from

if TYPE_CHECKING:
    from .assess import assess_training
    from .result import Exercise, ExerciseNote, Training
    from .settings import TrainingSettings
    from .verdict import TrainingWord, word_of

__all__ = [
    "Exercise",
    "ExerciseNote",
    "Training",
    "TrainingSettings",
    "TrainingWord",
    "assess_training",
    "word_of",
]

__getattr__ = names_from(
    __name__,
    {
        "Exercise": "result",
        "ExerciseNote": "result",
        "Training": "result",
        "TrainingSettings": "settings",
        "TrainingWord": "verdict",
        "assess_training": "assess",
        "word_of": "verdict",
    },
)
