"""What in the warehouse needs somebody today: the worst first, ticked once it was seen to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.acting import writing
from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import FormPage, finishing
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.list_page import ListPage
from panel.desk.page import Follows
from panel.desk.text_page import TextPage
from panel.desk.ticks import TickTable
from panel.questions.stock_part import FOLDS, StockPart
from panel.unswept import unswept
from panel.words.review_words import (
    action_words,
    casks_words,
    line_words,
    needing_words,
    reason_words,
)

if TYPE_CHECKING:
    from panel.desk.page import Handed
    from panel.questions.review.review import Review, ReviewLine, WarehouseReview

EMPTY = "Nothing needs anybody: no leak, no old plan, nothing promised and left."


@dataclass(frozen=True)
class Row:
    """A line with its warehouse, and its places: among the worst, and on the way."""

    line: ReviewLine
    house: WarehouseReview
    worst: int

    @property
    def where(self) -> str:
        """Warehouse, row and tier."""
        return " ".join(part for part in (self.house.warehouse, self.line.place) if part)


COLUMNS: tuple[Column[Row], ...] = (
    Column("No.", 4, lambda r: str(r.worst), lambda r: r.worst, right=True),
    Column(
        *("Where", 18, lambda r: r.where),
        lambda r: (r.house.site or "", r.house.warehouse or "", r.line.walk),
    ),
    Column("Cask", 14, lambda r: casks_words(r.line)),
    Column("Reason", 40, lambda r: reason_words(r.line), stretch=True),
    Column("To do", 30, lambda r: action_words(r.line)),
)


class ReviewTable(TickTable[Row]):
    """Lines, with a key for each column; those seen to are ticked and kept together."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class ReviewPage(ListPage):
    """The review; Enter shows the cask, space ticks, k keeps that those ticked were seen to."""

    PLACE = "casks"
    TITLE_WORDS = "What needs somebody"
    FIND_HINT = "words of warehouse, cask, reason, what to do"
    FOLLOWS = Follows.WHEN_ASKED
    BINDINGS: ClassVar[list[BindingType]] = [
        key("k", "tick", "Confirm", "review.tick", "Those ticked were seen to"),
        key("f", "narrow", "Narrow", "review.narrow", "By site, warehouse, owner, parcel"),
        key("v", "words", "In words", "review.words", "Each line whole, in walking order"),
        key("x", "write_page", "Hand on", "review.hand_on", "On paper, warehouse by warehouse"),
    ]
    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer("review.done", "What was seen to", "done", "The ticks, the newest first"),
    )

    @dataclass
    class Read(Message):
        """The review has been made."""

        review: Review

    def __init__(self) -> None:
        super().__init__()
        self.review: Review | None = None
        self.part = StockPart()

    def table(self) -> BigTable[Row]:
        """Make the table of lines."""
        return ReviewTable(
            COLUMNS, name_of=lambda r: f"{r.line.reason}\n{r.line.cask}", empty=EMPTY
        )

    @work(thread=True, exclusive=True, group="review", exit_on_error=False)
    def read(self) -> None:
        """Look the stock over, or read what is kept of it."""
        from panel.questions.review.review import house_review

        with self.reckoning(), unswept(), self.desk.store.read() as db:
            review = house_review(db, as_of=self.desk.today(), part=self.part)
        self.hand_over(self.Read(review))

    def on_review_page_read(self, message: Read) -> None:
        """Show it, the worst first."""
        self.review = message.review
        rows = [
            Row(line, house, place)
            for house in message.review.warehouses
            for place, line in enumerate(house.lines, 1)
        ]
        self.fill(rows)
        if message.review.not_told:
            self.say(" ".join(message.review.not_told))
        self.refresh_bindings()

    def count(self) -> None:
        """Say in the heading how many casks need somebody."""
        super().count()
        if self.review is not None:
            part = self.review.part.words()
            title = f"{self.TITLE_WORDS}: {part}" if part else self.TITLE_WORDS
            self.head(title, needing_words(self.review))

    @on(BigTable.Moved)
    def moved(self, event: BigTable.Moved) -> None:
        """Say the line of the arrow whole: reason and what to do seldom fit a column."""
        row: Row | None = self.query_one(ReviewTable).current
        if row is not None:
            self.say(line_words(row.line))

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Show the cask of a line, the first of several."""
        self.app.push_screen(page_of("cask", event.row.line.cask))

    def action_tick(self) -> None:
        """Ask what was done about the lines ticked, else that of the arrow."""
        table = self.query_one(ReviewTable)
        if table.chosen:
            lines = [row.line for row in table.chosen]
            self.app.push_screen(page_of("seen to", lines, lambda: table.tick(())))

    def action_narrow(self) -> None:
        """Ask by what it is narrowed."""

        def narrowed(part: StockPart | None) -> None:
            if part is not None:
                self.part = part
                self.read()

        self.app.push_screen(page_of("stock part", self.part), narrowed)

    def action_words(self) -> None:
        """Show each line as a sentence, in walking order."""
        from panel.words.review_words import CAUTIONS, review_lines

        if self.review is not None:
            said = [*review_lines(self.review, walk=True), "", *CAUTIONS]
            self.app.push_screen(TextPage(self.PLACE, self.TITLE_WORDS, said, file="stock.txt"))

    def action_done(self) -> None:
        """Show what was seen to."""
        from panel.words.review_words import tick_words

        if self.review is not None:
            said = [tick_words(each) for each in self.review.done] or ["Nothing was ticked yet."]
            self.app.push_screen(TextPage(self.PLACE, "What was seen to", said))

    def handed_on(self, reader: str) -> Handed | None:
        """The page of the warehouses, for whoever goes round."""
        from panel.desk.handing import stock_page

        return stock_page(self.desk, self.part) if self.review else None


class SeenToForm(DeedForm):
    """What was done about lines of the review."""

    PLACE = "casks"
    TITLE_WORDS = "Seen to"
    BINDINGS: ClassVar[list[BindingType]] = [finishing("Keep", "Keep that it was seen to")]
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("note", "Done", "weighed again, hoops driven; may be empty", wide=True),
    )

    def __init__(self, lines: Sequence[ReviewLine], after: object = None) -> None:
        super().__init__()
        self.seen_lines = tuple(lines)
        self.after = after

    def set_up(self) -> None:
        """Say which casks."""
        super().set_up()
        self.head(fact=", ".join(casks_words(line) for line in self.seen_lines[:3]))

    def do(self, values: dict[str, str]) -> str:
        """Tick them all, or none."""
        from panel.records.reviewing import SeenTo, tick_matters

        desk = self.desk
        seen = [
            SeenTo(matter.filling_id, matter.cask, matter.reason.value, matter.stands)
            for line in self.seen_lines
            for matter in line.matters
        ]
        with writing(desk.store) as db:
            done = tick_matters(db, seen, note=values.get("note"), now=desk.now(), by=desk.by)
        if callable(self.after):
            self.app.call_from_thread(self.after)
        told = done.casks[0] if len(done.casks) == 1 else f"{len(done.casks)} casks"
        return f"{told}: seen to. It comes back with a newer record alone."


class StockPartForm(FormPage):
    """To which part of the stock a page is narrowed; nothing is written."""

    ONLY_ASKS = True
    PLACE = "casks"
    TITLE_WORDS = "Narrow to a part of the stock"
    BINDINGS: ClassVar[list[BindingType]] = [finishing("Narrow", "Show this part", priority=True)]

    def __init__(self, part: StockPart) -> None:
        super().__init__()
        self.part = part

    def fields(self) -> Sequence[Field]:
        """Return the fields as it is narrowed now."""
        asked = self.part.asked()
        return tuple(
            Field(name, name.capitalize(), _HINTS[name], asked[name], wide=True) for name in FOLDS
        )

    def keep(self, values: dict[str, str]) -> None:
        """Hand the part over."""
        self.dismiss(StockPart(**{name: values.get(name, "") for name in FOLDS}))


_HINTS = {
    "site": "its name; empty for all",
    "warehouse": "its name; empty for all",
    "owner": "their name, or: the house",
    "parcel": "its name: what was filled together",
}
