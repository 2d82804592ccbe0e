"""Forms for one event or one regauge of a filling."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.message import Message

from panel.desk.columns import Column
from panel.desk.entries import Field
from panel.desk.pick import PickPage
from panel.desk.record_form import RecordForm
from panel.desk.typed import DAY_HINT
from panel.figures import tenths
from panel.kinds import EventKind, LitresAt
from panel.words.cask_words import make_word

if TYPE_CHECKING:
    from panel.store.filling_states import FillingState

KINDS = tuple(kind.value for kind in EventKind)
LITRES_AT = tuple(each.value for each in LitresAt)
FILLING = Field("filling", "Filling", "such as SW-0012/1")
PARENT_COLUMNS: tuple[Column[FillingState], ...] = (
    Column("Filling", 14, lambda f: f.label),
    Column("Wood", 22, lambda f: f.wood),
    Column("Make", 14, make_word),
    Column("Litres", 6, lambda f: f"{f.bulk_l:.0f}", lambda f: f.bulk_l, right=True),
    Column("Vol%", 5, lambda f: tenths(f.abv), lambda f: f.abv, right=True),
    Column("Emptied", 10, lambda f: str(f.emptied_on or ""), stretch=True),
)


class EventForm(RecordForm):
    """Something that happened; a re-racking or topping from several fillings is a row each."""

    PLACE = "casks"
    TITLE_WORDS = "An event"
    KIND = "events"
    NEEDED = ("filling", "kind", "happened_on")
    FIELDS: ClassVar[tuple[Field, ...]] = (
        FILLING,
        Field("kind", "What happened", choices=KINDS),
        Field("happened_on", "On", DAY_HINT),
        Field("parent", "From filling", "re-racked or topped; of several each", picks=True),
        Field("litres", "Litres", "L in, or reserved; of several such as 60; 40"),
        Field("abv", "Strength", "% vol"),
        Field("site", "Site", "moved only, to where"),
        Field("warehouse", "Warehouse"),
        Field("row", "Row"),
        Field("tier", "Tier"),
        Field("note", "Note", wide=True),
        Field("entry", "Entry", "2 if the same happened twice that day"),
    )

    @dataclass
    class Read(Message):
        """The fillings have been read."""

        fillings: list[FillingState]

    def __init__(self, values: Mapping[str, str] | None = None) -> None:
        super().__init__(values)
        self.fillings: list[FillingState] | None = None

    @work(thread=True, exclusive=True, group="parents", exit_on_error=False)
    def read(self) -> None:
        """Read the fillings that spirit can come from."""
        from panel.questions.choosing import parent_lines

        with self.desk.store.read() as db:
            fillings = parent_lines(db, self.desk.today())
        self.hand_over(self.Read(fillings))

    def on_event_form_read(self, message: Read) -> None:
        """Keep them for the list."""
        self.fillings = message.fillings

    def choices_for(self, name: str) -> PickPage | None:
        """Return the list of fillings."""
        line = self.line_of(name)
        if self.fillings is None or line is None:
            return None
        return PickPage(
            "From which fillings?",
            self.fillings,
            PARENT_COLUMNS,
            name_of=lambda filling: str(filling.label),
            place=self.PLACE,
            many=True,
            ticked=line.entry.value.splitlines(),
        )

    def rows(self, values: dict[str, str]) -> list[dict[str, str]]:
        """Return a row for each filling that it came from."""
        parents = values.get("parent", "").splitlines()
        if len(parents) < 2:
            return super().rows(values)
        litres = [part.strip() for part in values.get("litres", "").split(";")]
        litres += [""] * (len(parents) - len(litres))
        litres[len(parents) - 1 :] = ["; ".join(litres[len(parents) - 1 :])]
        pairs = zip(parents, litres, strict=True)
        return [self.record({**values, "parent": label, "litres": part}) for label, part in pairs]

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
        Field("gauged_on", "On", DAY_HINT),
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
