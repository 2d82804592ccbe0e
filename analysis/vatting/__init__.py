"""From a target to casks and litres: bound, chance, price, and what stands in the way."""

from analysis.vatting.chance import Expectation, Line
from analysis.vatting.conflict import Conflict
from analysis.vatting.faults import FaultKind, LimitFault, LimitsError
from analysis.vatting.known import stock_from_profile
from analysis.vatting.learn import MixingLearned, NoteLearned, learn_mixing
from analysis.vatting.limits import (
    Basis,
    Broken,
    Drawing,
    GaugeRule,
    LimitKey,
    LimitKind,
    Limits,
    Share,
)
from analysis.vatting.live import SharesTried, try_shares
from analysis.vatting.mixing import MixingRule
from analysis.vatting.mixture import Mixture, PlanPart
from analysis.vatting.plan import plan_vatting
from analysis.vatting.pour import Poured, ShareReached
from analysis.vatting.prices import Price
from analysis.vatting.reach import Reach, ReachedLine
from analysis.vatting.result import NoVatting, PricedLimit, SaidStandIn, VattingPlan
from analysis.vatting.stand_ins import StandIn
from analysis.vatting.stock import Stock, build_stock
from analysis.vatting.tighten import Round

__all__ = [
    "Basis",
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
    "build_stock",
    "learn_mixing",
    "plan_vatting",
    "stock_from_profile",
    "try_shares",
]
