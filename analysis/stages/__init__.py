"""Stages: a note scored at the nose, on arrival, in development and in the finish."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..when_asked import names_from

if TYPE_CHECKING:
    from .assess import assess_stages
    from .index import ADDED, FAINTEST, log_ratio
    from .plan import StagePlan, StagePower, plan_stages
    from .result import SampleStaged, StagedNote, StageMeans, Stages

__all__ = [
    "ADDED",
    "FAINTEST",
    "SampleStaged",
    "StageMeans",
    "StagePlan",
    "StagePower",
    "StagedNote",
    "Stages",
    "assess_stages",
    "log_ratio",
    "plan_stages",
]

__getattr__ = names_from(
    __name__,
    {
        "ADDED": "index",
        "FAINTEST": "index",
        "SampleStaged": "result",
        "StageMeans": "result",
        "StagePlan": "plan",
        "StagePower": "plan",
        "StagedNote": "result",
        "Stages": "result",
        "assess_stages": "assess",
        "log_ratio": "index",
        "plan_stages": "plan",
    },
)
