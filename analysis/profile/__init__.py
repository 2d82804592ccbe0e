"""What each sample is, over all sessions: one estimate a descriptor, with its uncertainty.

Names are looked up when they are asked for: a helper process that only fits needs no pandas.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..when_asked import names_from

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

__getattr__ = names_from(
    __name__,
    {
        "DescriptorFit": "result",
        "Link": "links",
        "Posterior": "posterior",
        "Profile": "result",
        "ProfileSettings": "settings",
        "estimate_profile": "estimate",
    },
)
