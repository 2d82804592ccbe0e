"""Two products told apart: exact tests, how far apart they are, and how many answers it takes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..when_asked import names_from

if TYPE_CHECKING:
    from .assess import assess_difference
    from .exact import Asked, Needed
    from .facts import DifferenceFacts, DifferenceWord
    from .method import Method, d_prime, right
    from .plan import Cheaper, DifferencePlan, PowerAt, plan_difference
    from .result import Difference
    from .settings import DifferenceSettings

__all__ = [
    "Asked",
    "Cheaper",
    "Difference",
    "DifferenceFacts",
    "DifferencePlan",
    "DifferenceSettings",
    "DifferenceWord",
    "Method",
    "Needed",
    "PowerAt",
    "assess_difference",
    "d_prime",
    "plan_difference",
    "right",
]

__getattr__ = names_from(
    __name__,
    {
        "Asked": "exact",
        "Cheaper": "plan",
        "Difference": "result",
        "DifferencePlan": "plan",
        "DifferenceSettings": "settings",
        "DifferenceFacts": "facts",
        "DifferenceWord": "facts",
        "Method": "method",
        "Needed": "exact",
        "PowerAt": "plan",
        "assess_difference": "assess",
        "d_prime": "method",
        "plan_difference": "plan",
        "right": "method",
    },
)
