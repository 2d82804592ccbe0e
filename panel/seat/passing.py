"""Passing or holding a glass, in the same words whatever the booth's face."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from panel.kinds import Fault
from panel.seat.between import flight_word
from panel.session import scoring

if TYPE_CHECKING:
    from panel.store.booth_tray import Glass, Tray

FAULTS = tuple(fault.value for fault in Fault)
"""In the order of their numbers."""
ASKED = "Is it sound? Pass it, or name the fault and hold it. Nose only: it may be a planted one."
NOT_NAMED = Fault.OTHER.value
"""Stands for what is wrong and has no name."""
NAME_IT = f"To hold it, name the fault first; '{NOT_NAMED}' where it has no name."


def passing_facts(tray: Tray, glass: Glass) -> tuple[str, str]:
    """Return where a glass stands, and what was written of it."""
    at = scoring.left(tray)
    block = f", {flight_word(tray).lower()} {at.flight}" if at.flights > 1 else ""
    note = "kept" if glass.note else "none"
    return f"Glass {at.done_in_flight + 1} of {at.glasses_in_flight}{block}.", f"Note: {note}."


def still_marked(code: str, marked: Collection[str]) -> str:
    """Return why a glass is not passed: a fault is named on it."""
    named = ", ".join(fault for fault in FAULTS if fault in marked)
    return f"{named} is named on {code}: take that off to pass it, or hold it."


def became(glass: Glass) -> str:
    """Return what is said of a glass once it is down."""
    if not glass.faults:
        return f"{glass.code} is passed."
    named = ", ".join(fault for fault in FAULTS if fault in glass.faults)
    return f"{glass.code} is held: {named}."
