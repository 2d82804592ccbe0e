"""When a glass is not safe, or somebody is unwell: what the booth says to do, and whom it calls.

Safety comes before blindness: the call stops what is in the glass in hand for every seat at once,
under all its codes, and only a lead lifts that. Of somebody who is unwell nothing is kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from panel.kinds import STOPS
from panel.seat.jobs import CallLead, Job

ASKED = "What is wrong?"


class Wrong(StrEnum):
    """What can be wrong in the room."""

    NOT_SAFE = "not safe"
    UNWELL = "unwell"


@dataclass(frozen=True)
class Care:
    """How it is offered, and what is said to do."""

    offered: str
    told: str


CARES: dict[Wrong, Care] = {
    Wrong.NOT_SAFE: Care(
        "This is not safe: solvent, fuel, cleaner, a chipped glass",
        "Put the glass down, do not nose or taste it again, and say so aloud in the room. The "
        "lead is called. If the glass stood in hand at this booth, what is in it is stopped at "
        "once, for everybody and under all its codes; if not, tell the lead which it is.",
    ),
    Wrong.UNWELL: Care(
        "I am unwell",
        "Stop, sit down away from the glasses, in fresh air if you can, and tell whoever answers "
        "for first aid here now. In an emergency call for help as the rules of your house and "
        "place say. Nothing of this is kept.",
    ),
}
OFFERED = tuple(care.offered for care in CARES.values())


def jobs_of(wrong: Wrong, serving_id: int | None) -> tuple[Job, ...]:
    """Return what is kept of it: a call that stops the glass in hand, nothing of a person."""
    if wrong is Wrong.UNWELL:
        return ()
    return (CallLead(STOPS.value, serving_id),)
