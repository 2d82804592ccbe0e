"""The way in from a notebook: saved files in, the house's answers out, without a database.

Every name here is also one of `oakpanel` itself.
"""

from .asking import (
    assess_agreement,
    estimate_ageing,
    estimate_influences,
    estimate_profile,
    match,
    plan_vatting,
)
from .reading import read_drawn, read_mixing, read_stock, read_targets
from .scores import read_scores

__all__ = [
    "assess_agreement",
    "estimate_ageing",
    "estimate_influences",
    "estimate_profile",
    "match",
    "plan_vatting",
    "read_drawn",
    "read_mixing",
    "read_scores",
    "read_stock",
    "read_targets",
]
