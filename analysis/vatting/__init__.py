"""From a target to casks and litres: bound, chance, price, and what stands in the way."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..when_asked import names_from

if TYPE_CHECKING:
    from .batch import (
        BatchAfter,
        BatchBefore,
        BatchLine,
        NoteBefore,
        as_before,
        batch_after,
        notes_found,
        recipe_shares,
    )
    from .chance import Expectation, Line
    from .conflict import Conflict
    from .faults import FaultKind, LimitFault, LimitsError
    from .from_parents import with_parents
    from .known import stock_from_profile
    from .learn import MixingLearned, NoteLearned, learn_mixing
    from .limits import (
        Basis,
        Broken,
        Drawing,
        GaugeRule,
        LimitKey,
        LimitKind,
        Limits,
        Share,
    )
    from .live import SharesTried, try_shares
    from .mixing import MixingRule
    from .mixture import Mixture, PlanPart
    from .plan import plan_vatting
    from .pour import Poured, ShareReached
    from .prices import Price
    from .reach import Reach, ReachedLine
    from .result import NoVatting, PricedLimit, SaidStandIn, VattingPlan
    from .stand_ins import StandIn
    from .stock import Stock, build_stock
    from .tighten import Round

__all__ = [
    "Basis",
    "BatchAfter",
    "BatchBefore",
    "BatchLine",
    "Broken",
    "Conflict",
    "Drawing",
    "Expectation",
    "FaultKind",
    "GaugeRule",
    "LimitFault",
    "LimitKey",
    "LimitKind",
    "Limits",
    "LimitsError",
    "Line",
    "MixingLearned",
    "MixingRule",
    "Mixture",
    "NoVatting",
    "NoteBefore",
    "NoteLearned",
    "PlanPart",
    "Poured",
    "Price",
    "PricedLimit",
    "Reach",
    "ReachedLine",
    "Round",
    "SaidStandIn",
    "Share",
    "ShareReached",
    "SharesTried",
    "StandIn",
    "Stock",
    "VattingPlan",
    "as_before",
    "batch_after",
    "build_stock",
    "learn_mixing",
    "notes_found",
    "plan_vatting",
    "recipe_shares",
    "stock_from_profile",
    "try_shares",
    "with_parents",
]

__getattr__ = names_from(
    __name__,
    {
        "Basis": "limits",
        "BatchAfter": "batch",
        "BatchBefore": "batch",
        "BatchLine": "batch",
        "Broken": "limits",
        "Conflict": "conflict",
        "Drawing": "limits",
        "Expectation": "chance",
        "FaultKind": "faults",
        "GaugeRule": "limits",
        "LimitFault": "faults",
        "LimitKey": "limits",
        "LimitKind": "limits",
        "Limits": "limits",
        "LimitsError": "faults",
        "Line": "chance",
        "MixingLearned": "learn",
        "MixingRule": "mixing",
        "Mixture": "mixture",
        "NoVatting": "result",
        "NoteBefore": "batch",
        "NoteLearned": "learn",
        "PlanPart": "mixture",
        "Poured": "pour",
        "Price": "prices",
        "PricedLimit": "result",
        "Reach": "reach",
        "ReachedLine": "reach",
        "Round": "tighten",
        "SaidStandIn": "result",
        "Share": "limits",
        "ShareReached": "pour",
        "SharesTried": "live",
        "StandIn": "stand_ins",
        "Stock": "stock",
        "VattingPlan": "result",
        "as_before": "batch",
        "batch_after": "batch",
        "build_stock": "stock",
        "learn_mixing": "learn",
        "notes_found": "batch",
        "plan_vatting": "plan",
        "recipe_shares": "batch",
        "stock_from_profile": "known",
        "try_shares": "live",
        "with_parents": "from_parents",
    },
)
