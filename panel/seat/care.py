"""When a glass is not safe, or somebody is unwell: what the booth says to do, and whom it calls.

Safety comes before blindness: the call stops what is in the glass for every seat at once, under all
its codes, and only a lead lifts that. Where not one glass alone is in hand it is asked which, and
whoever does not know stops what stood there last. Of somebody who is unwell nothing is kept.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from panel.kinds import STOPS
from panel.seat.jobs import CallLead, Job
from panel.session.scoring import glass_in_hand, poured

if TYPE_CHECKING:
    from panel.store.booth_tray import Glass, Tray

ASKED = "What is wrong?"
WHICH_GLASS = "Put it down. Which glass is not safe? The call stops what is in it, for everybody."
NONE_OF_MINE = "none on this tray: the lead is called, nothing is stopped"
MOST_NAMED = 6
"""So many glasses are offered, the likeliest first."""


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
        "lead is called, and what is in the glass in hand, or that you name, is stopped at once, "
        "for everybody and under all its codes. Is it none of yours, tell the lead which it is.",
    ),
    Wrong.UNWELL: Care(
        "I am unwell",
        "Stop, sit down away from the glasses, in fresh air if you can, and tell whoever answers "
        "for first aid here now. In an emergency call for help as the rules of your house and "
        "place say. Nothing of this is kept.",
    ),
}
OFFERED = tuple(care.offered for care in CARES.values())


@dataclass(frozen=True)
class Meant:
    """One answer to which glass is not safe, and the glasses whose draws it stops."""

    words: str
    glasses: tuple[Glass, ...]
    unsure: bool = False


def ways_to_mean(tray: Tray) -> tuple[Meant, ...]:
    """Return the answers that a seat can give; one alone where there is nothing to ask.

    Glasses come the likeliest first; the last answer stops nothing.
    """
    held = glass_in_hand(tray)
    in_sets = tray.held_as.facts.in_sets
    if held is not None and not in_sets:
        return (Meant(held.code, (held,)),)
    likely = _likeliest(tray)
    last: tuple[Glass, ...] = ()
    if any(glass.taken_at is not None for glass in likely):
        beside = tuple(glass for glass in likely if glass.flight == likely[0].flight)
        last = beside if in_sets else beside[:1]
    named = [Meant(glass.code, (glass,)) for glass in likely[: max(MOST_NAMED, len(last))]]
    codes = ", ".join(glass.code for glass in last)
    if last:
        named.append(Meant(f"I do not know: {codes}, nosed last", last, unsure=True))
    return (*named, Meant(NONE_OF_MINE, ()))


def _likeliest(tray: Tray) -> list[Glass]:
    """Return what stands on a tray: what was taken last first, then what comes next."""
    taken = {glass.flight: glass.taken_at for glass in poured(tray) if glass.taken_at}
    in_sets = tray.held_as.facts.in_sets

    def place(glass: Glass) -> tuple[bool, float, int, int]:
        at = taken.get(glass.flight) if in_sets else glass.taken_at
        return at is None, -at.timestamp() if at else 0.0, glass.flight, glass.position

    return sorted(poured(tray), key=place)


def unsure(ways: tuple[Meant, ...]) -> Meant:
    """Return what is meant by whoever names none: what stood there last, if anything did."""
    return next((way for way in ways if way.unsure), ways[-1])


def jobs_of(wrong: Wrong, servings: Iterable[int]) -> tuple[Job, ...]:
    """Return what is kept: a call for each glass, or one that stops none; of a person nothing."""
    if wrong is Wrong.UNWELL:
        return ()
    calls = tuple(CallLead(STOPS.value, serving) for serving in servings)
    return calls or (CallLead(STOPS.value),)
