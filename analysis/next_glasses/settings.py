"""What is decided by the house about nosing on."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class NextSettings:
    """House settings.

    Attributes
    ----------
    stop_at
        Loss at which nosing may stop, in points.
    stop_at_years
        The same where dates are asked for, in years.
    fewest_sessions
        Sessions before which no loss is low enough: what was just learned of the people and the
        stock makes early promises too low.
    near
        How many casks next to the chosen are looked at for what would change your mind.
    draws
        Draws from the joint fit behind a loss.
    stale_years
        A cask nosed longer ago than this is told as nosed long ago.
    """

    stop_at: float = 1.0
    stop_at_years: float = 0.25
    fewest_sessions: int = 6
    near: int = 8
    draws: int = 1000
    stale_years: float = 2.0
