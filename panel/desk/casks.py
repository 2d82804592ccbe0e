"""The list of casks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.cask_columns import COLUMNS, words_of
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.list_page import ListPage
from panel.desk.taking_back import TakesBack
from panel.desk.ticks import TickTable, draw_ticked
from panel.questions.cask_narrowing import CaskIndex, Narrowing
from panel.unswept import unswept
from panel.words.cask_words import narrowed_words

if TYPE_CHECKING:
    from analysis.pictures import Picture
    from panel.desk.page import Drawn
    from panel.questions.cask_life import CaskLine
    from panel.store.engine import Session

EMPTY = """No casks yet: n writes the first one down.
From a file: 7 House, Bring records in; a file to fill in: 7 House, Save records."""


class CaskTable(TickTable["CaskLine"]):
    """Casks, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class CasksPage(ListPage, TakesBack):
    """All casks; Enter shows one cask's life."""

    PLACE = "casks"
    TITLE_WORDS = "Casks"
    FIND_HINT = "words of number, wood, make, parcel, owner, place, state"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("d", "draw", "Draw", "casks.draw", "Write down a draw of each cask ticked"),
        key("e", "event", "Event", "casks.event", "Write down what happened"),
        key("g", "regauge", "Regauge", "casks.regauge", "Write down a regauge"),
        key("f", "narrow", "Narrow", "casks.narrow", "By make, wood, state, flag, age"),
        key("n", "new", "New", "casks.new", "A new cask"),
        key("u", "take_back", "Take back", "casks.take_back", "Take back what was written last"),
        key("v", "review", "Other view", "casks.review", "What needs somebody today"),
        key("w", "why", "Why", "casks.why", "What wood, age and peat do"),
        key("y", "years", "Years", "casks.years", "How styles age, when ready"),
    ]

    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer("casks.strength", "Strength arithmetic", "strength", "Water, vatting and gauging"),
        Offer("casks.next", "What to nose next", "nose_next", "To know when a make is ready"),
        Offer("casks.folded", "Casks told together", "folded", "By parcel, warehouse, site, owner"),
        Offer("casks.make", "A new make", "make", "Write down a new-make spirit"),
    )

    @dataclass
    class Read(Message):
        """The list has been read."""

        lines: list[CaskLine]
        index: CaskIndex

    def __init__(self) -> None:
        super().__init__()
        self.index = CaskIndex()
        self.asked = Narrowing()

    def table(self) -> BigTable[CaskLine]:
        """Make the table of casks."""
        return CaskTable(COLUMNS, name_of=lambda c: c.number, searched=words_of, empty=EMPTY)

    @work(thread=True, exclusive=True, group="casks", exit_on_error=False)
    def read(self) -> None:
        """Read all casks as they are today."""
        from panel.questions.cask_life import cask_lines

        with unswept(), self.desk.store.read() as db:
            lines = cask_lines(db, self.desk.today())
            index = CaskIndex.of(lines)
        self.hand_over(self.Read(lines, index))

    def on_casks_page_read(self, message: Read) -> None:
        """Show them, narrowed as before."""
        self.index = message.index
        self.list.kept = self.index.numbers(self.asked)
        self.fill(message.lines)

    def action_narrow(self) -> None:
        """Ask by what the list is narrowed."""

        def narrowed(asked: Narrowing | None) -> None:
            if asked is not None:
                self.narrow(asked)

        self.app.push_screen(page_of("narrow", self.index, self.asked), narrowed)

    def narrow(self, asked: Narrowing) -> None:
        """Show the casks that are asked for; the heading says which."""
        self.asked = asked
        self.list.narrow(self.index.numbers(asked))
        words = narrowed_words(asked)
        self.head(f"{self.TITLE_WORDS}: {words}" if words else self.TITLE_WORDS)
        self.count()
        self.say("Escape widens the list again." if words else "")

    def action_back(self) -> None:
        """First show what is found by words, then widen the list, then go one step back."""
        if self.list.wanted or self.asked.asks_nothing:
            super().action_back()
        else:
            self.narrow(Narrowing())

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Show one cask's life."""
        self.app.push_screen(page_of("cask", event.row.number))

    def drawn_as(self) -> Drawn | None:
        """All casks by what they are like, alike ones neighbours."""

        def draw(db: Session) -> list[Picture]:
            from panel.pictures.casks import alike_in_house

            day = self.desk.today()
            found = alike_in_house(db, self.desk.known.of(db, as_of=day), as_of=day)
            return [] if found is None else [found]

        return "Alike in the store", draw

    def action_draw(self) -> None:
        """Open the form for draws of the casks ticked, else of this one."""
        draw_ticked(self, self.query_one(CaskTable), lambda line: line.number)

    def action_event(self) -> None:
        """Open the form for an event of this cask."""
        from panel.desk.cask_forms import event_form

        line = self.list.current
        self.app.push_screen(event_form(line.state.label if line and line.state else ""))

    def action_take_back(self) -> None:
        """Take back what was written of this cask last."""
        line = self.list.current
        if line is not None:
            self.reverse(line.number)

    def action_regauge(self) -> None:
        """Open the form for a regauge of this cask."""
        from panel.desk.cask_forms import regauge_form

        line = self.list.current
        self.app.push_screen(regauge_form(line.state.label if line and line.state else ""))

    def action_new(self) -> None:
        """Open the form for a new cask."""
        self.app.push_screen(page_of("new cask"))

    def action_folded(self) -> None:
        """Show how many casks there are of each parcel, warehouse, site or owner."""

        def chosen(asked: Narrowing | None) -> None:
            if asked is not None:
                self.narrow(asked)

        self.app.push_screen(page_of("folded", tuple(self.list.shown)), chosen)

    def action_review(self) -> None:
        """Show what needs somebody today."""
        self.app.push_screen(page_of("review"))

    def action_nose_next(self) -> None:
        """Ask what the next session is for."""
        self.app.push_screen(page_of("next choices"))

    def action_make(self) -> None:
        """Open the form for a new make."""
        self.app.push_screen(page_of("new make"))

    def action_strength(self) -> None:
        """Open the page for strength arithmetic."""
        self.app.push_screen(page_of("strength"))

    def action_why(self) -> None:
        """Show what moves each note."""
        self.app.push_screen(page_of("influences"))

    def action_years(self) -> None:
        """Show how styles age."""
        self.app.push_screen(page_of("ageing"))
