"""Sentences on somebody who moves against the hidden reference."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from .words import AssessorWord, Verdict, count, points


class Direction(StrEnum):
    """Which way somebody moves on the line."""

    UPWARD = "upward"
    DOWNWARD = "downward"


MOVING = {
    Direction.UPWARD: AssessorWord.MOVING_UP,
    Direction.DOWNWARD: AssessorWord.MOVING_DOWN,
}
"""The word for each direction."""


@dataclass(frozen=True)
class DriftFacts:
    """One chart that has left its limits; `moved` in points of the 0-100 line over the span."""

    assessor: str | None
    descriptor: str | None
    direction: Direction
    since: str
    moved: float
    n_sessions: int


def drift_verdict(facts: DriftFacts) -> Verdict[AssessorWord]:
    """Say who moves which way since when, and what to do."""
    word = MOVING[facts.direction]
    on = facts.descriptor or "all notes together"
    over = f"{points(facts.moved)} over {count(facts.n_sessions, 'hidden reference')}"
    if facts.assessor is None:
        said = (
            f"The panel as a whole has been moving {facts.direction} on {on} since "
            f"{facts.since}, {over}"
        )
        action = "check the reference first (light, air, age of the bottle), then nose it together"
        return Verdict(word, said, action, facts.since)
    said = (
        f"{facts.assessor} has been moving {facts.direction} on {on} since "
        f"{facts.since}, {over} against the others"
    )
    action = "set the reference glass beside its place on the line again"
    return Verdict(word, said, action, facts.since)
