"""What a lead says of a passing session beside its draws, and what its noses are told."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PassingAsked:
    """`told` is what the noses hear of make, wood and year (None: from the records).

    `parcel` is whose casks they are, and `casks` how many of those that no morning has taken yet
    (None: all of the parcel, nosed before or not); `again_of` the session whose holds are nosed by
    a second nose.
    """

    told: str | None = None
    parcel: str | None = None
    again_of: str | None = None
    casks: int | None = None
