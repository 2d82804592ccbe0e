"""A new house: its first lead with their PIN, its time zone and its name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.records.people import add_person, set_pin
from panel.records.settings import change_setting

if TYPE_CHECKING:
    from datetime import datetime

    from panel.store.engine import Store


@dataclass(frozen=True)
class Founding:
    """What a house begins with; what is None comes later."""

    lead: str
    pin: str | None
    time_zone: str | None = None
    name: str | None = None


def found_house(store: Store, begun: Founding, *, now: datetime) -> None:
    """Write down who leads a house that has nobody yet, and how it is set.

    Raises
    ------
    EntriesAtFault, OakpanelError
        The code cannot be one; there is no such time zone; the PIN is not 4 to 12 digits or easily
        guessed.
    """
    with store.write() as db:
        for name, value in (("time_zone", begun.time_zone), ("house_name", begun.name)):
            if value is not None:
                change_setting(db, name, value, now=now, by=None)
        add_person(db, begun.lead, ["lead"], now=now, by=None)
    if begun.pin is not None:
        with store.write() as db:
            set_pin(db, begun.lead, begun.pin, now=now, by=begun.lead)
