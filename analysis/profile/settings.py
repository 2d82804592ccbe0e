"""What a profile is made of."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ProfileSettings:
    """Settings of a profile.

    Attributes
    ----------
    standing_panel
        The assessors whose mean score is estimated; by default all who scored. An estimate is
        on the line of these people, so changing the panel moves every figure a little.
    keep
        The statuses of scores that are used.
    """

    standing_panel: tuple[str, ...] | None = None
    keep: tuple[str, ...] = ("kept", "swap_suspected")
