"""What guests scored on paper, typed sheet by sheet, held beside the panel; kept nowhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Static

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import WORDS_WIDTH, Column
from panel.desk.entries import Field
from panel.desk.form import FormPage, finishing
from panel.desk.homes import page_of
from panel.desk.keys import key
from panel.desk.list_page import ListPage
from panel.desk.page import Follows, Page
from panel.desk.slip import ReadSlip
from panel.desk.typed import Entries
from panel.errors import EntriesAtFault
from panel.figures import in_digits
from panel.release.guests import GuestScore, beside_panel, read_guest, read_points

if TYPE_CHECKING:
    from panel.desk.page import Handed
    from panel.release.tasting import Tasting

EMPTY = """No sheet yet: n types one, under the number that stands on it.
Nothing of it goes into the records; x writes the page to hand on."""
WANTED = "points from 0 to 100"


@dataclass(frozen=True)
class Sheet:
    """One guest's sheet."""

    guest: int
    scores: tuple[GuestScore, ...]

    @property
    def words(self) -> str:
        """Its scores in the order of the pours."""
        by_pour: dict[str, list[str]] = {}
        for score in self.scores:
            by_pour.setdefault(score.release, []).append(
                f"{score.note} {in_digits(score.points, 'g')}"
            )
        return "; ".join(f"{pour}: {', '.join(told)}" for pour, told in by_pour.items())


COLUMNS: tuple[Column[Sheet], ...] = (
    Column("Sheet", 5, lambda s: str(s.guest), lambda s: s.guest, right=True),
    Column("Marks", 5, lambda s: str(len(s.scores)), lambda s: len(s.scores), right=True),
    Column("Points", 50, lambda s: s.words, stretch=True),
)


class SheetTable(BigTable["Sheet"]):
    """A line a guest's sheet."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class GuestsPage(ListPage):
    """The sheets typed so far; they are gone with the page."""

    FOLLOWS = Follows.NOTHING
    PLACE = "releases"
    TITLE_WORDS = "Guests' scores of a tasting"
    DEFAULT_CSS = "GuestsPage #beside { height: auto; max-height: 4; padding: 0 1; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "new", "New", "guests.new", "Type a guest's sheet"),
        key("v", "beside", "In words", "guests.beside", "All beside the middle half of the panel"),
        key("minus", "drop", "Drop", "guests.drop", "Throw the sheet of the arrow away"),
        key("x", "write_page", "Hand on", "guests.hand_on", "Write their page into a file"),
    ]

    def __init__(self, tasting: Tasting) -> None:
        super().__init__()
        self.tasting = tasting
        self.sheets: dict[int, Sheet] = {}
        self.unwritten = False
        self.warned = False

    def table(self) -> BigTable[Sheet]:
        """Make the table of sheets."""
        return SheetTable(COLUMNS, name_of=lambda s: s.guest, empty=EMPTY)

    def body(self) -> ComposeResult:
        """The sheets, and below them how far guests and panel agree."""
        yield from super().body()
        yield Static(id="beside")

    def set_up(self) -> None:
        """Show that there is none yet."""
        super().set_up()
        self.show()

    @property
    def scores(self) -> tuple[GuestScore, ...]:
        """All that was typed."""
        return tuple(score for sheet in self.sheets.values() for score in sheet.scores)

    def show(self) -> None:
        """Show the sheets and what they come to."""
        from panel.words.tasting import agreement_words, pours_word

        self.fill(sorted(self.sheets.values(), key=lambda sheet: sheet.guest))
        found = beside_panel(self.scores, self.tasting) if self.sheets else None
        said = agreement_words(found) if found else f"{pours_word(self.tasting)}."
        self.query_one("#beside", Static).update(Content(said))
        self.refresh_bindings()

    def take(self, sheet: Sheet, instead: int | None) -> None:
        """Take a sheet in, instead of the one that it was typed over."""
        if instead is not None:
            self.sheets.pop(instead, None)
        self.sheets[sheet.guest] = sheet
        self.unwritten, self.warned = True, False
        self.show()
        self.list.go_to(sheet.guest)

    def can_now(self, action: str) -> bool:
        """Offer what needs a sheet only where there is one."""
        return bool(self.sheets) if action in {"beside", "drop"} else super().can_now(action)

    def action_new(self) -> None:
        """Type a sheet."""
        self.app.push_screen(page_of("guest sheet", self, None))

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Change a sheet."""
        self.app.push_screen(page_of("guest sheet", self, event.row))

    def action_drop(self) -> None:
        """Throw the sheet of the arrow away."""
        sheet: Sheet | None = self.list.current
        if sheet is not None:
            del self.sheets[sheet.guest]
            self.show()
            self.say(f"Sheet {sheet.guest} is thrown away.")

    def action_beside(self) -> None:
        """Show every note of every pour beside the panel."""
        from panel.words.tasting import beside_lines

        lines = beside_lines(beside_panel(self.scores, self.tasting), WORDS_WIDTH)
        self.app.push_screen(ReadSlip("Guests beside our panel", lines))

    def handed_on(self, reader: str) -> Handed | None:
        """Return the guests' page, as the command makes it."""
        from panel.desk.handing import guests_page

        return guests_page(self.desk, self.tasting, self.scores) if self.sheets else None

    def on_page_written(self, message: Page.Written) -> None:
        """Nothing is lost any more once the page is there."""
        self.unwritten = self.unwritten and message.trouble

    def action_back(self) -> None:
        """Leave; sheets of which there is no page go only at the second Escape."""
        if self.unwritten and not self.warned and not self.list.wanted:
            self.warned = True
            count = f"{len(self.sheets)} sheet{'' if len(self.sheets) == 1 else 's'}"
            self.say(f"{count} kept nowhere: x writes the page, Escape once more throws them away.")
        else:
            super().action_back()


class SheetForm(FormPage):
    """The three notes of each pour, as a guest wrote them."""

    ONLY_ASKS = True
    PLACE = "releases"
    TITLE_WORDS = "A guest's sheet"
    BINDINGS: ClassVar[list[BindingType]] = [finishing("Take in", "Set it beside the others")]

    def __init__(self, page: GuestsPage, sheet: Sheet | None) -> None:
        super().__init__()
        self.page, self.sheet = page, sheet
        pours = page.tasting.pours
        self.asked = [(pour.name, note) for pour in pours for note in page.tasting.notes]

    def fields(self) -> Sequence[Field]:
        """Return the sheet's number, then the notes pour by pour."""
        scores = self.sheet.scores if self.sheet else ()
        told = {(score.release, score.note): in_digits(score.points, "g") for score in scores}
        number = self.sheet.guest if self.sheet else max(self.page.sheets, default=0) + 1
        places = {pour.name: n for n, pour in enumerate(self.page.tasting.pours, 1)}
        notes = (
            Field(str(at), note, f"{places[pour]}. {pour}, 0 to 100", told.get((pour, note), ""))
            for at, (pour, note) in enumerate(self.asked)
        )
        return (
            Field("guest", "Sheet number", "as it stands on the sheet", value=str(number)),
            *notes,
        )

    def set_up(self) -> None:
        """Stand on the first note: the number is there already."""
        super().set_up()
        if self.sheet is not None:
            self.lines[1].entry.focus()

    def keep(self, values: dict[str, str]) -> None:
        """Take the sheet in; every fault at its field."""
        try:
            sheet = self.read_sheet(values)
        except EntriesAtFault as error:
            self.post_message(self.Refused(error.faults))
            return
        self.app.pop_screen()
        self.page.take(sheet, self.sheet.guest if self.sheet else None)

    def read_sheet(self, values: dict[str, str]) -> Sheet:
        """Return what was typed.

        Raises
        ------
        EntriesAtFault
            Something is not right, or nothing is scored, by field.
        """
        typed = Entries(values)
        typed.needed("guest", "the number on the sheet")
        guest = typed.read("guest", read_guest, "a whole number from 1 up") or 0
        others = self.page.sheets.keys() - {self.sheet.guest if self.sheet else None}
        if guest in others:
            typed.faults["guest"] = f"sheet {guest} is typed already: Enter on it changes it"
        scores = []
        for at, (pour, note) in enumerate(self.asked):
            points = typed.read(str(at), read_points, WANTED)
            if points is not None:
                scores.append(GuestScore(guest, pour, note, points))
        if not scores and not typed.faults:
            typed.faults["0"] = "nothing is scored on it"
        typed.settle()
        return Sheet(guest, tuple(scores))
