"""The only values that may come out of a kept file, by name: anything else there is foreign."""

from __future__ import annotations

from functools import cache
from importlib import import_module

CLASSES = {
    "panel.kinds": ("GlassKind",),
    "analysis.profile.result": ("Profile", "DescriptorFit"),
    "analysis.profile.posterior": ("Posterior", "Latent"),
    "analysis.profile.lines": ("Straight",),
    "analysis.profile.found": ("FoundOrNot",),
    "analysis.profile.curve": ("Curve",),
    "analysis.profile.ends": ("ReadAs",),
    "analysis.profile.links": ("Link",),
    "analysis.profile.camps": ("NoteCamps",),
    "analysis.profile.one_order": ("OneOrder",),
}
HOME = {name: module for module, names in CLASSES.items() for name in names}


@cache
def class_named(name: str) -> type:
    """Return a class that may be kept; its module is loaded then.

    Raises
    ------
    KeyError
        None of that name may.
    """
    found = getattr(import_module(HOME[name]), name)
    if not isinstance(found, type):
        raise KeyError(name)
    return found


def may_be_kept(kind: type) -> bool:
    """Tell whether a class is one of those."""
    return HOME.get(kind.__name__) == kind.__module__
