"""Between which two casks a choice ends."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Cut:
    """Between which two casks choosing ends.

    Attributes
    ----------
    n_chosen
        How many are chosen.
    within, within_off
        The chosen one that is expected to be furthest off, and by how many points.
    beyond, beyond_off
        The nearest of the others; None where all that may be chosen are.
    """

    n_chosen: int
    within: str
    within_off: float
    beyond: str | None
    beyond_off: float | None
