"""Which cask for which release, over the years."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..when_asked import names_from

if TYPE_CHECKING:
    from .plan import plan_stock
    from .question import HouseLimits, MustStay, PlannedRelease, PlanQuestion
    from .result import (
        CaskPrice,
        DrawnInYear,
        Ended,
        Mend,
        MendKind,
        Prices,
        ReleaseAlone,
        ReleasePlan,
        StaysThere,
        StockPlan,
        TogetherNot,
    )

__all__ = [
    "CaskPrice",
    "DrawnInYear",
    "Ended",
    "HouseLimits",
    "Mend",
    "MendKind",
    "MustStay",
    "PlanQuestion",
    "PlannedRelease",
    "Prices",
    "ReleaseAlone",
    "ReleasePlan",
    "StaysThere",
    "StockPlan",
    "TogetherNot",
    "plan_stock",
]

__getattr__ = names_from(
    __name__,
    {
        "CaskPrice": "result",
        "DrawnInYear": "result",
        "Ended": "result",
        "HouseLimits": "question",
        "Mend": "result",
        "MendKind": "result",
        "MustStay": "question",
        "PlanQuestion": "question",
        "PlannedRelease": "question",
        "Prices": "result",
        "ReleaseAlone": "result",
        "ReleasePlan": "result",
        "StaysThere": "result",
        "StockPlan": "result",
        "TogetherNot": "result",
        "plan_stock": "plan",
    },
)
