"""What a profile has to say before its figures are read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.profile.layout import Vector
from analysis.profile.links import Link


def unsettled(reason: str, assessor: str | None, scores: Vector) -> str:
    """Say what to look at where a fit did not settle; `scores` are that assessor's."""
    if assessor is None:
        return f"{reason}: look for a session or an assessor with hardly any scores on it"
    zeros = 100.0 * float(np.mean(scores == 0.0))
    return (
        f"{reason}: {assessor} has no steady scale on it, so look at those {len(scores)} scores "
        f"first ({zeros:.0f} in 100 of them are 0)"
    )


def apart(component: int) -> str | None:
    """Why a sample cannot be compared with most others."""
    if component == 0:
        return None
    return (
        "nosed only in sessions that share no glass with the others: do not compare it with "
        "their samples until a reference or a returning cask ties them together"
    )


def unlinked(links: Sequence[Link], reference: str | None) -> str | None:
    """Say that the sessions do not hang together, and what would tie them."""
    if len(links) < 2:
        return None
    tie = f"Pour {bridge(links, reference)} in each part."
    if all(len(link.sessions) == 1 for link in links):
        return (
            f"No sample was nosed in two of the {len(links)} sessions: what differs between "
            "their samples cannot be told from what differs between the evenings, and much of "
            "it is put down to the evenings. Compare samples of one session only. "
            f"{tie}"
        )
    sessions = ", ".join(links[1].sessions[:3])
    return (
        f"The sessions fall into {len(links)} parts that share no glass: samples of different "
        f"parts cannot be compared (session {sessions} stands apart). {tie}"
    )


def bridge(links: Sequence[Link], reference: str | None) -> str:
    """What to pour to tie the parts together: a known sample, and what it may be."""
    if reference is not None:
        return f"the house reference or a returning cask (such as {reference})"
    known = (*links[0].ties, *links[0].samples)
    return f"the house reference or a returning cask (such as {known[0]})"


def not_comparable(first: str, second: str, links: Sequence[Link], reference: str | None) -> str:
    """Say why two samples cannot be compared, and what would help."""
    return (
        f"{first} and {second} were never tied together by a common glass: their difference "
        "cannot be told from the difference of two evenings. Pour "
        f"{bridge(links, reference)} beside both, or both in one session."
    )
