"""Oakpanel by its one name on the index, and its way in from a notebook.

>>> import oakpanel as oak
>>> oak.strength.reduce_strength(100, 63.5, 46).to_frame().shape
(1, 8)

A wheel holds the halves inside this package, so that nothing of ours lies under `panel` or
`analysis`, which others are called as well. Importing it touches neither those names nor
`sys.path`; only the command's own process does (:mod:`oakpanel.command`). What is named in
`__all__` is loaded when it is asked for.
"""

from difflib import get_close_matches
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # a checker of an installed Oakpanel finds them; in a checkout they lie elsewhere
    from .analysis import strength  # type: ignore[import-not-found]
    from .analysis.notebook import (  # type: ignore[import-not-found]
        assess_agreement,
        estimate_ageing,
        estimate_influences,
        estimate_profile,
        match,
        plan_vatting,
        read_drawn,
        read_mixing,
        read_scores,
        read_stock,
        read_targets,
    )
    from .analysis.stock_plan import (  # type: ignore[import-not-found]
        HouseLimits,
        MustStay,
        PlannedRelease,
        PlanQuestion,
        plan_stock,
    )
    from .analysis.target import Target, TargetLine  # type: ignore[import-not-found]
    from .analysis.vatting import (  # type: ignore[import-not-found]
        Basis,
        Drawing,
        MixingRule,
        Share,
    )

HOME = Path(__file__).resolve().parent
"""The folder in which the halves lie."""
if not (HOME / "analysis").is_dir():
    HOME = HOME.parents[2]
    __path__.append(str(HOME))  # in a checkout they lie at its top

analysis = import_module(f"{__name__}.analysis")

_OF_TARGETS = ("Target", "TargetLine")
_OF_PLANS = ("HouseLimits", "MustStay", "PlanQuestion", "PlannedRelease", "plan_stock")
_OF_VATTINGS = ("Basis", "Drawing", "MixingRule", "Share")
_OF_A_NOTEBOOK = (
    *("assess_agreement", "estimate_ageing", "estimate_influences", "estimate_profile", "match"),
    *("plan_vatting", "read_drawn", "read_mixing", "read_scores", "read_stock", "read_targets"),
)
_PLACES = {
    **dict.fromkeys(_OF_A_NOTEBOOK, "notebook"),
    **dict.fromkeys(_OF_TARGETS, "target"),
    **dict.fromkeys(_OF_PLANS, "stock_plan"),
    **dict.fromkeys(_OF_VATTINGS, "vatting"),
}
__all__ = [
    "Basis",
    "Drawing",
    "HouseLimits",
    "MixingRule",
    "MustStay",
    "PlanQuestion",
    "PlannedRelease",
    "Share",
    "Target",
    "TargetLine",
    "analysis",
    "assess_agreement",
    "estimate_ageing",
    "estimate_influences",
    "estimate_profile",
    "match",
    "plan_stock",
    "plan_vatting",
    "read_drawn",
    "read_mixing",
    "read_scores",
    "read_stock",
    "read_targets",
    "strength",
]


def __getattr__(name: str) -> object:
    """Load a name when it is asked for; refuse another with the one that comes nearest."""
    if name == "strength":
        found: object = import_module(f"{__name__}.analysis.strength")
    elif name in _PLACES:
        found = getattr(import_module(f"{__name__}.analysis.{_PLACES[name]}"), name)
    else:
        close = get_close_matches(name, __all__, n=1)
        nearest = f" The nearest: {close[0]}." if close and not name.startswith("_") else ""
        raise AttributeError(f"oakpanel has no {name!r}.{nearest}")
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    """Name what a notebook is offered."""
    return sorted(__all__)
