"""What each sample is, over all sessions: one estimate a descriptor, with its uncertainty."""

from analysis.profile.estimate import estimate_profile
from analysis.profile.links import Link
from analysis.profile.result import DescriptorFit, Profile
from analysis.profile.settings import ProfileSettings

__all__ = ["DescriptorFit", "Link", "Profile", "ProfileSettings", "estimate_profile"]
