"""What a profile has to say of notes that a panel read two ways."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class NoteCamps:
    """A note on which a panel stood in two camps, in so many of the sessions that can tell."""

    descriptor: str
    n_sessions: int
    of_sessions: int


def read_two_ways(camps: Sequence[NoteCamps], names: Collection[str] | None = None) -> str | None:
    """Say which of these notes, all by default, have no direction; None where there are none."""
    found = [note for note in camps if names is None or note.descriptor in names]
    if not found:
        return None
    return f"{_which(found)} {_NOSE}"


def _which(found: Sequence[NoteCamps]) -> str:
    ways = "two ways, each camp the other way round"
    if len(found) == 1:
        note = found[0]
        return (
            f"On {note.descriptor} the panel read {ways}, in {note.n_sessions} of "
            f"{note.of_sessions} sessions: its direction cannot be told."
        )
    each = ", ".join(f"{n.descriptor} ({n.n_sessions} of {n.of_sessions} sessions)" for n in found)
    return f"The panel read some notes {ways}, and their directions cannot be told: {each}."


_NOSE = (
    "What is high may be low: nose the reference together and agree which end of the line is "
    "which before you go by it."
)
