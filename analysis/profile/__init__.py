"""What each sample is, over all sessions: one estimate a descriptor, with its uncertainty.

Names are looked up when they are asked for: a helper process that only fits needs no pandas.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .estimate import estimate_profile
    from .links import Link
    from .posterior import Posterior
    from .result import DescriptorFit, Profile
    from .settings import ProfileSettings

__all__ = [
    "DescriptorFit",
    "Link",
    "Posterior",
    "Profile",
    "ProfileSettings",
    "estimate_profile",
]

_PLACES = {
    "DescriptorFit": "result",
    "Link": "links",
    "Posterior": "posterior",
    "Profile": "result",
    "ProfileSettings": "settings",
    "estimate_profile": "estimate",
}


def __getattr__(name: str) -> object:
    if name not in _PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found = getattr(import_module(f"{__name__}.{_PLACES[name]}"), name)
    globals()[name] = found
    return found
