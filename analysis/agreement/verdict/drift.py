"""Sentences on somebody who moves against the hidden reference."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.agreement.verdict.words import AssessorWord, Verdict, count, points, verdict


@dataclass(frozen=True)
class DriftFacts:
    """One chart that has left its limits; `moved` in points of the 0-100 line over the span."""

    assessor: str | None
    descriptor: str | None
    direction: str
    since: str
    moved: float
    n_sessions: int


def drift_sentence(facts: DriftFacts) -> Verdict:
    """Say who moves which way since when, and what to do."""
    up = facts.direction == "upward"
    moving = AssessorWord.MOVING_UP if up else AssessorWord.MOVING_DOWN
    word = f"{moving} since {facts.since}"
    on = facts.descriptor or "all notes together"
    over = f"{points(facts.moved)} over {count(facts.n_sessions, 'hidden reference')}"
    if facts.assessor is None:
        said = (
            f"The panel as a whole has been moving {facts.direction} on {on} since "
            f"{facts.since}, {over}"
        )
        action = "check the reference first (light, air, age of the bottle), then nose it together"
        return verdict(word, said, action)
    said = (
        f"{facts.assessor} has been moving {facts.direction} on {on} since "
        f"{facts.since}, {over} against the others"
    )
    return verdict(word, said, "set the reference glass beside its place on the line again")
