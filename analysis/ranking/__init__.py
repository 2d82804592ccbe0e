"""Products ranked by one note: exact where it can be counted, ties and all pairs allowed for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..when_asked import names_from

if TYPE_CHECKING:
    from .assess import assess_ranking
    from .plan import RankingPlan, RankingPower, plan_ranking
    from .result import ChanceBy, RankedProduct, Ranking, RankingWord

__all__ = [
    "ChanceBy",
    "RankedProduct",
    "Ranking",
    "RankingPlan",
    "RankingPower",
    "RankingWord",
    "assess_ranking",
    "plan_ranking",
]

__getattr__ = names_from(
    __name__,
    {
        "ChanceBy": "result",
        "RankedProduct": "result",
        "Ranking": "result",
        "RankingPlan": "plan",
        "RankingPower": "plan",
        "RankingWord": "result",
        "assess_ranking": "assess",
        "plan_ranking": "plan",
    },
)
