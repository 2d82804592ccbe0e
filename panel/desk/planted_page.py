"""What is kept to be planted in passing sessions, and the forms by which it comes there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.acting import writing
from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.list_page import ListPage
from panel.desk.typed import DAY_HINT, Entries, above_zero, strength
from panel.errors import EntriesAtFault
from panel.kinds import Fault

if TYPE_CHECKING:
    from panel.records.planting import PlantedLine

FAULTS = tuple(fault.value for fault in Fault)
COLUMNS: tuple[Column[PlantedLine], ...] = (
    Column("Sample", 18, lambda p: p.sample, stretch=True),
    Column("Planted as", 14, lambda p: p.fault.value if p.fault else "known sound"),
    Column("On", 14, lambda p: p.base or ""),
    Column("Make", 12, lambda p: p.make or ""),
    Column("By", 8, lambda p: p.made_by),
    Column("Day", 10, lambda p: str(p.made_on), lambda p: p.made_on),
    Column("Now", 10, lambda p: p.fate or "in use"),
)


class PlantedTable(BigTable["PlantedLine"]):
    """What is planted, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class PlantedPage(ListPage):
    """Known-sound spirit and spikes; what was destroyed is not poured again."""

    PLACE = "sessions"
    TITLE_WORDS = "Planted in passing"
    FIND_HINT = "words of sample, fault, make"
    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer("planted.sound", "Keep a sample as known to be sound", "sound", "Spikes are of it"),
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "spike", "New", "planted.spike", "Keep a spike that was made up"),
    ]

    @dataclass
    class Read(Message):
        """The list has been read."""

        lines: list[PlantedLine]

    def table(self) -> BigTable[PlantedLine]:
        """Make the table."""
        empty = "Nothing is planted yet: keep a sample as known to be sound first ( . lists it)."
        return PlantedTable(COLUMNS, name_of=lambda p: p.sample, empty=empty)

    @work(thread=True, exclusive=True, group="planted", exit_on_error=False)
    def read(self) -> None:
        """Read what is kept."""
        from panel.records.planting import planted_lines

        with self.desk.store.read() as db:
            lines = planted_lines(db)
        self.hand_over(self.Read(lines))

    def on_planted_page_read(self, message: Read) -> None:
        """Show it."""
        self.fill(message.lines)

    def action_spike(self) -> None:
        """Open the form of a spike."""
        line = self.list.current
        base = (line.base or line.sample) if line is not None else ""
        self.app.push_screen(page_of("new spike", {"base": base} if base else {}))

    def action_sound(self) -> None:
        """Open the form of a known-sound sample."""
        self.app.push_screen(page_of("known sound"))


class SoundForm(DeedForm):
    """A sample that is known to be sound."""

    PLACE = "sessions"
    TITLE_WORDS = "Known to be sound"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("sample", "Sample", "of a cask that is on no hold"),
        Field("made_by", "Who knows it", "a code; empty: who acts"),
    )

    def look(self, values: dict[str, str]) -> None:
        """See that a sample is named."""
        if "sample" not in values:
            raise EntriesAtFault({"sample": "name the sample"})

    def do(self, values: dict[str, str]) -> str:
        """Keep it."""
        from panel.records.planting import keep_sound

        desk, who = self.desk, values.get("made_by")
        with writing(desk.store) as db:
            line = keep_sound(db, values["sample"], made_by=who, now=desk.now(), by=desk.by)
        return line.kept_words()


class SpikeForm(DeedForm):
    """A spike: a fault made up in a known-sound spirit, by somebody trained."""

    PLACE = "sessions"
    TITLE_WORDS = "A spike"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("label", "Name", "of this sample; no nose reads it"),
        Field("fault", "Fault", "its family, told to the noses", choices=FAULTS),
        Field("base", "On", "the known-sound sample that it was made on"),
        Field("stock", "Stock", "what was added, and how much of it a litre", wide=True),
        Field("safety_sheet", "Safety sheet", "where the sheet of the stock lies", wide=True),
        Field("made_by", "Made by", "the code of a trained person; empty: who acts"),
        Field("made_on", "Made on", f"{DAY_HINT}; empty: today"),
        Field("abv_percent", "Strength", "% vol; empty: that of the base"),
        Field("volume_ml", "Made", "mL; may be empty"),
    )

    def set_up(self) -> None:
        """Say how spikes are made up."""
        from panel.records.planting import MAKING

        super().set_up()
        self.say(MAKING)

    def look(self, values: dict[str, str]) -> None:
        """See what can be seen before anything is written."""
        self._read(values)

    def _read(self, values: dict[str, str]) -> None:
        typed = Entries(values)
        self.abv = typed.read("abv_percent", strength, "a strength in % vol, such as 60")
        self.volume = typed.read("volume_ml", above_zero, "millilitres, such as 200")
        self.made_on = typed.day("made_on")
        if typed.faults:
            raise EntriesAtFault(typed.faults)

    def do(self, values: dict[str, str]) -> str:
        """Keep it."""
        from panel.records.planting import NOSE_ONLY, SpikeMade, keep_spike

        self._read(values)
        made = SpikeMade(
            label=values.get("label", ""),
            fault=Fault(values.get("fault", FAULTS[0])),
            base=values.get("base", ""),
            stock=values.get("stock", ""),
            safety_sheet=values.get("safety_sheet", ""),
            made_by=values.get("made_by"),
            abv_percent=self.abv,
            volume_ml=self.volume,
            made_on=self.made_on,
        )
        desk = self.desk
        with writing(desk.store) as db:
            line = keep_spike(db, made, now=desk.now(), by=desk.by)
        return f"{line.sample} is kept. {NOSE_ONLY}"
