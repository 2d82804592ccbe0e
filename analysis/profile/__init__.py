"""What each sample is, over all sessions: one estimate a descriptor, with its uncertainty."""

from analysis.profile.estimate import estimate_profile
from analysis.profile.links import Link
from analysis.profile.result import DescriptorFit, Posterior, Profile
from analysis.profile.settings import ProfileSettings

__all__ = [
    "DescriptorFit",
    "Link",
    "Posterior",
    "Profile",
    "ProfileSettings",
    "estimate_profile",
]
