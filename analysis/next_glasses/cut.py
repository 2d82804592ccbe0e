"""Between which two casks a choice ends."""

from __future__ import annotations

from dataclasses import dataclass

LEAST_PAST = 0.25
"""Points by which one glass has to move a cask past the cut: by less nobody would choose otherwise.
A cask that lies on the cut is past it half the time by next to nothing, whatever is poured."""


@dataclass(frozen=True)
class Cut:
    """Between which two casks choosing ends.

    Attributes
    ----------
    n_chosen
        How many are chosen.
    n_wanted
        How many were asked for; more than are chosen where fewer may be.
    within, within_off
        The chosen one that is expected to be furthest off, and by how many points.
    beyond, beyond_off
        The nearest of the others; None where all that may be chosen are.
    """

    n_chosen: int
    n_wanted: int
    within: str
    within_off: float
    beyond: str | None
    beyond_off: float | None
