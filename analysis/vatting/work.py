"""How much a search may do, in counts: it then ends at the same place on every machine."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Work:
    """Counts that end a search; the clock is its outer limit alone.

    Attributes
    ----------
    nodes
        Of a tree of integer programs.
    tries
        Exchanges that are tried, and restarts of swaps.
    goal
        Points from the bound at which an answer is good enough.
    """

    nodes: int
    tries: int
    goal: float
