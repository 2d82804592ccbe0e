"""How much a search may do, in counts: it then ends at the same place on every machine."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Work:
    """Counts that end a search.

    Attributes
    ----------
    nodes
        Of a tree of integer programs over some hundred casks; over fewer as many times more.
    tries
        Exchanges that are tried, and restarts of swaps.
    goal
        Points from the bound at which an answer is good enough.
    """

    nodes: int
    tries: int
    goal: float


VATTING = Work(nodes=20, tries=200, goal=0.0005)
"""Of one band of a vatting: about a second of one core where nothing is proven sooner."""
