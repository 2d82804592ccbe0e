"""Forms for one event or one regauge of a filling."""

from __future__ import annotations

from typing import ClassVar

from panel.desk.entries import Field
from panel.desk.record_form import RecordForm
from panel.kinds import EventKind, LitresAt

KINDS = tuple(kind.value for kind in EventKind)
LITRES_AT = tuple(each.value for each in LitresAt)
FILLING = Field("filling", "Filling", "such as SW-0012/1")


class EventForm(RecordForm):
    """Something that happened."""

    PLACE = "casks"
    TITLE_WORDS = "An event"
    KIND = "events"
    NEEDED = ("filling", "kind", "happened_on")
    FIELDS: ClassVar[tuple[Field, ...]] = (
        FILLING,
        Field("kind", "What happened", choices=KINDS),
        Field("happened_on", "On", "such as 2026-11-25"),
        Field("parent", "From filling", "re-racked or topped"),
        Field("litres", "Litres", "what went in, or is reserved"),
        Field("abv", "Strength", "% vol"),
        Field("site", "Site", "moved only, to where"),
        Field("warehouse", "Warehouse"),
        Field("row", "Row"),
        Field("tier", "Tier"),
        Field("note", "Note", wide=True),
        Field("entry", "Entry", "2 if the same happened twice that day"),
    )

    def news(self, values: dict[str, str]) -> str:
        """Return what was kept."""
        return f"Kept: {values['filling']} {values['kind']} on {values['happened_on']}."


class RegaugeForm(RecordForm):
    """A measurement."""

    PLACE = "casks"
    TITLE_WORDS = "A regauge"
    KIND = "regauges"
    NEEDED = ("filling", "gauged_on", "bulk_l", "abv", "method")
    FIELDS: ClassVar[tuple[Field, ...]] = (
        FILLING,
        Field("gauged_on", "On", "such as 2026-11-25"),
        Field("bulk_l", "Bulk litres"),
        Field("abv", "Strength", "% vol"),
        Field("method", "Method", choices=("weighed", "dipped")),
        Field("temperature_c", "Temperature", "°C at the cask"),
        Field("litres_at", "Litres at", "20 °C, or as read at the cask", choices=LITRES_AT),
        Field("note", "Note", wide=True),
    )

    def news(self, values: dict[str, str]) -> str:
        """Return what was kept."""
        at = f" of {values['temperature_c']} °C" if values.get("litres_at") == LitresAt.CASK else ""
        return f"Kept: {values['filling']} holds {values['bulk_l']} L{at} at {values['abv']} %."


def event_form(filling: str) -> EventForm:
    """Return the form for an event of a filling."""
    return EventForm({"filling": filling} if filling else {})


def regauge_form(filling: str) -> RegaugeForm:
    """Return the form for a regauge of a filling."""
    return RegaugeForm({"filling": filling} if filling else {})
