"""When casks meet a target: from and until, with the chance, the best first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from analysis.age_words import age_figure
from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.held_later import later_here
from panel.desk.homes import page_of
from panel.desk.keys import key
from panel.desk.late_words import LateWords
from panel.desk.list_page import ListPage
from panel.desk.page import Follows

if TYPE_CHECKING:
    from datetime import date

    from analysis.ageing import Window
    from panel.desk.page import Handed


def month(day: date | None) -> str:
    """Return a month, or a dash."""
    return "-" if day is None else f"{day:%Y-%m}"


def chance_words(value: float | None) -> str:
    """Return a chance, or a dash."""
    from analysis.chance_words import chance

    return "-" if value is None else chance(value)


def until(window: Window) -> str:
    """Return when a window closes; an arrow where it may go on."""
    return month(window.closes) + (">" if window.note and window.closes else "")


COLUMNS: tuple[Column[Window], ...] = (
    Column("Cask", 10, lambda w: w.cask),
    Column("Age", 5, lambda w: age_figure(w.age_years), lambda w: w.age_years, right=True),
    Column("Now", 5, lambda w: chance_words(w.now_chance), lambda w: w.now_chance, right=True),
    Column("Best", 5, lambda w: chance_words(w.best_chance), lambda w: w.best_chance, right=True),
    Column("On", 7, lambda w: month(w.best_on), lambda w: w.best_on),
    Column("From", 7, lambda w: month(w.opens), lambda w: w.opens),
    Column("Until", 8, until, lambda w: w.closes),
    Column("Draws", 5, lambda w: f"{w.n_draws}x", lambda w: w.n_draws, right=True),
    Column("Worst note", 16, lambda w: w.worst_descriptor or "-", stretch=True),
)


class WindowTable(BigTable["Window"]):
    """Casks, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class WindowsPage(ListPage):
    """One line a cask; Enter shows how it ages."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "casks"
    FIND_HINT = "words of cask, note"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("x", "write_page", "Hand on", "windows.hand_on", "Write a page of it into a file"),
    ]
    DEFAULT_CSS = "WindowsPage #sentence { height: 3; padding: 0 1; }"

    @dataclass
    class Read(Message):
        """The windows have been reckoned."""

        windows: tuple[Window, ...]
        warnings: tuple[str, ...]
        later: str

    def __init__(self, target: str) -> None:
        super().__init__()
        self.target = target

    def table(self) -> BigTable[Window]:
        """Make the table of windows."""
        return WindowTable(
            COLUMNS, name_of=lambda w: w.filling, empty="No cask could be put to it."
        )

    def body(self) -> ComposeResult:
        """The table, and the cask of the arrow in words."""
        yield from super().body()
        yield LateWords()
        yield Static(id="sentence")

    def set_up(self) -> None:
        """Say that it takes a moment."""
        super().set_up()
        self.head(f"When casks meet {self.target}")
        self.say("Reckoning; the other places can be used meanwhile ...")

    def handed_on(self, reader: str) -> Handed | None:
        """Return the page of these windows."""
        from panel.desk.handing import ageing_page

        return ageing_page(self.desk, target=self.target)

    @work(thread=True, exclusive=True, group="windows", exit_on_error=False)
    def read(self) -> None:
        """Reckon the windows."""
        from panel.questions.ageing import house_ageing

        with self.reckoning(), self.desk.store.read() as db:
            today = self.desk.today()
            known = self.desk.known.of(db, as_of=today)
            result = house_ageing(db, as_of=today, target=self.target, profile=known)
            later = later_here(db, today)
        self.hand_over(self.Read(result.windows, result.warnings, later))

    def on_windows_page_read(self, message: Read) -> None:
        """Show them."""
        self.fill(message.windows)
        self.say(" ".join(message.warnings))
        self.query_one(LateWords).tell([message.later])

    @on(BigTable.Moved)
    def moved(self, event: BigTable.Moved) -> None:
        """Say the window in words."""
        self.query_one("#sentence", Static).update(Content(window_words(event.row)))

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Show how the cask ages."""
        self.app.push_screen(page_of("ageing", event.row.cask))


def window_words(window: Window) -> str:
    """Return when a cask meets the target, in words."""
    basis = f"nosed {window.n_draws}x itself" if window.n_draws else "never nosed, by its like"
    said = f"{window.cask}, {window.style}, {basis}"
    if window.opens is None or window.closes is None:
        return f"{said}: {window.reason or 'no date with a chance of half'}."
    words = f"{said}: from {window.opens:%Y-%m} until {window.closes:%Y-%m}"
    return f"{words}; {window.note}." if window.note else f"{words}."
