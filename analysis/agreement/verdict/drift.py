"""Sentences on somebody who moves."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from .words import AssessorWord, Verdict, points


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
    """One chart whose evidence is over its limit.

    Attributes
    ----------
    since, earliest, latest
        Date or session of the likeliest start, and between which it lies 95 times in 100.
    moved, low, high
        Points of the 0-100 line, upward positive, with bounds for 95 in 100.
    """

    assessor: str | None
    descriptor: str | None
    direction: Direction
    since: str
    earliest: str
    latest: str
    moved: float
    low: float
    high: float


_WANDERS = "; a panel whose level wanders from session to session can look the same"
"""Beside the people each can be held against others, who wander or not; the panel cannot."""


def drift_verdict(facts: DriftFacts) -> Verdict[AssessorWord]:
    """Say who moves which way since when and how far, and what to do."""
    word = MOVING[facts.direction]
    moves = f"has been {word} on {facts.descriptor or 'all notes together'} since {facts.since}"
    far = f"{moves}{_between(facts)}, by about {points(abs(facts.moved))} ({_bounds(facts)})"
    if facts.assessor is None:
        action = "check the reference first (light, air, age of the bottle), then nose it together"
        said = f"The panel as a whole {far} on its hidden reference{_WANDERS}"
        return Verdict(word, said, action, facts.since)
    action = "set the reference glass beside its place on the line again"
    said = f"{facts.assessor} {far} against the others on the same glasses"
    return Verdict(word, said, action, facts.since)


def _between(facts: DriftFacts) -> str:
    if facts.earliest == facts.latest:
        return ""
    return f" (it began between {facts.earliest} and {facts.latest})"


def _bounds(facts: DriftFacts) -> str:
    """Bounds of the distance, the nearer first."""
    near, far = (facts.low, facts.high) if facts.moved > 0 else (-facts.high, -facts.low)
    return f"{near:.0f} to {far:.0f}"
