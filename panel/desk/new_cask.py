"""Forms for a cask that is new to the records, or filled anew, and for a new make."""

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
from panel.figures import in_digits

if TYPE_CHECKING:
    from panel.questions.cask_life import CaskLife
    from panel.questions.choosing import MakeLine

MAKE_COLUMNS: tuple[Column[MakeLine], ...] = (
    Column("Make", 20, lambda m: m.name),
    Column("Site", 14, lambda m: m.site),
    Column("Grain", 14, lambda m: m.cereal),
    Column(
        "Phenols ppm",
        11,
        lambda m: in_digits(m.phenol_ppm, "g"),
        lambda m: m.phenol_ppm,
        right=True,
    ),
    Column("Years of it", 14, lambda m: m.campaign or "", stretch=True),
)


class CaskForm(RecordForm):
    """A cask and what was filled into it; without a day and litres of a filling, the wood alone."""

    PLACE = "casks"
    TITLE_WORDS = "A new cask"
    KIND = "casks"
    ONLY_NEW = True
    NEEDED = ("cask", "wood", "size_l", "filled_on", "fill_number", "fill_abv", "fill_bulk_l")
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("cask", "Cask", "its number"),
        Field("wood", "Wood", "such as American oak barrel"),
        Field("size_l", "Size", "L, full"),
        Field("filled_on", "Filled on", f"{DAY_HINT}; empty: the wood alone"),
        Field("fill_number", "Fill", "1 the first time spirit lies in it"),
        Field("fill_abv", "Strength", "% vol as filled"),
        Field("fill_bulk_l", "Litres", "L at 20 °C as filled"),
        Field("make", "Make", "none if it comes from other casks", picks=True),
        Field("filling", "Filling", "its label; empty: the cask's number and /1"),
        Field("previous", "Before", "what lay in the wood before"),
        Field("parcel", "Parcel", "its name"),
        Field("owner", "Owner", "if it is not the house's own"),
        Field("site", "Site"),
        Field("warehouse", "Warehouse"),
        Field("row", "Row"),
        Field("tier", "Tier"),
        Field("note", "Note", "on the wood", wide=True),
    )

    @dataclass
    class Read(Message):
        """The makes have been read."""

        makes: list[MakeLine]

    def __init__(self, values: Mapping[str, str] | None = None) -> None:
        super().__init__(values)
        self.makes: list[MakeLine] | None = None

    @work(thread=True, exclusive=True, group="makes", exit_on_error=False)
    def read(self) -> None:
        """Read the makes."""
        from panel.questions.choosing import make_lines

        with self.desk.store.read() as db:
            makes = make_lines(db)
        self.hand_over(self.Read(makes))

    def on_cask_form_read(self, message: Read) -> None:
        """Keep them for the list."""
        self.makes = message.makes

    def choices_for(self, name: str) -> PickPage | None:
        """Return the list of makes."""
        if self.makes is None:
            return None
        return PickPage(
            "Which make was filled into it?",
            self.makes,
            MAKE_COLUMNS,
            name_of=lambda make: str(make.name),
            place=self.PLACE,
            many=False,
        )

    def news(self, values: dict[str, str]) -> str:
        """Return what was kept."""
        if "filled_on" not in values:
            return f"Kept: cask {values['cask']}, empty."
        return (
            f"Kept: cask {values['cask']}, filled on {values['filled_on']} with "
            f"{values['fill_bulk_l']} L of {values['fill_abv']} %."
        )


class MakeForm(RecordForm):
    """A new-make spirit."""

    PLACE = "casks"
    TITLE_WORDS = "A new make"
    KIND = "makes"
    ONLY_NEW = True
    NEEDED = ("make", "site", "cereal", "phenol_ppm")
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("make", "Make", "its name"),
        Field("site", "Site", "where it is distilled"),
        Field("cereal", "Cereal", "such as malted barley"),
        Field("phenol_ppm", "Phenols", "ppm, of the malt; 0 without peat"),
        Field("campaign", "Campaign", "when it was made, such as 2026"),
        Field("note", "Note", wide=True),
    )

    def news(self, values: dict[str, str]) -> str:
        """Return what was kept."""
        return f"Kept: make {values['make']}, malt of {values['phenol_ppm']} ppm."


def filled_anew(life: CaskLife) -> dict[str, str]:
    """Return what is known of an empty cask that spirit is to go into again."""
    known = {"cask": life.number, "wood": life.wood, "size_l": in_digits(life.size_l, ".15g")}
    if not life.fillings:
        return known
    last = life.fillings[-1].state
    return {
        **known,
        "fill_number": str(last.fill_number + 1),
        "filling": f"{life.number}/{len(life.fillings) + 1}",
    }
