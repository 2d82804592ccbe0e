"""Every glass as it was scored: of one closed session, or of one cask over the years."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from panel.desk.big_table import BigTable, sortable
from panel.desk.columns import Column
from panel.desk.keys import key
from panel.desk.late_words import LateWords
from panel.desk.list_page import ListPage
from panel.desk.not_at_best import TellsNotAtBest
from panel.desk.page import Follows
from panel.desk.slip import ReadSlip
from panel.figures import in_digits

if TYPE_CHECKING:
    from textual.app import ComposeResult

    from panel.questions.glasses import Glass

NOTE_WIDTH = 6
EMPTY = "No glass of it was scored in a revealed session."


def _said(glass: Glass) -> str:
    from panel.words.glass_words import remarks_of

    return ", ".join(remarks_of(glass))


def _answer(glass: Glass) -> str:
    from panel.words.glass_words import answer_word

    return answer_word(glass)


def _minutes(glass: Glass) -> str:
    minutes = glass.minutes_in_hand
    return "" if minutes is None else in_digits(minutes, ".1f")


OF_SESSION: tuple[Column[Glass], ...] = (
    Column("Glass", 5, lambda g: g.code),
    Column("Draw", 12, lambda g: g.draw or ""),
    Column("Noses", 6, lambda g: g.assessor),
)
OF_CASK: tuple[Column[Glass], ...] = (
    Column("On", 10, lambda g: str(g.held_on or ""), lambda g: g.held_on),
    Column("Session", 14, lambda g: g.session),
    Column("Noses", 6, lambda g: g.assessor),
)
ANSWER: tuple[Column[Glass], ...] = (Column("Answer", 10, _answer),)
LAST: tuple[Column[Glass], ...] = (
    Column("Min", 5, _minutes, lambda g: g.minutes_in_hand, right=True),
    Column("Remarks", 14, _said, stretch=True),
)


def note_columns(notes: Sequence[str]) -> tuple[Column[Glass], ...]:
    """Return a column for each note; its name is cut, and stands in full below the table."""
    from panel.words.glass_words import score_word

    return tuple(
        Column(
            note.lower()[: NOTE_WIDTH - 1],
            NOTE_WIDTH,
            lambda glass, note=note: score_word(glass, note),  # type: ignore[misc]
            right=True,
        )
        for note in notes
    )


class GlassesPage(ListPage):
    """Glasses in lines, notes in columns; Enter shows one in full."""

    FOLLOWS = Follows.RECORDS
    FIRST: ClassVar[tuple[Column[Glass], ...]] = OF_SESSION
    DEFAULT_CSS = """
    GlassesPage #named { height: auto; max-height: 3; padding: 0 1; color: $secondary; }
    """
    FIND_HINT = "words of glass, draw, who, remark"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("v", "turn", "Other view", "glasses.turn", "The other notes"),
    ]

    @dataclass
    class Read(Message):
        """The glasses have been read."""

        glasses: tuple[Glass, ...]
        notes: tuple[str, ...]
        late: tuple[str, ...] = ()

    def __init__(self, name: str) -> None:
        super().__init__()
        self.about = name
        self.glasses: tuple[Glass, ...] = ()
        self.notes: tuple[str, ...] = ()
        self.view = 0

    def table(self) -> BigTable[Glass]:
        """Make the table; the columns of the notes come with them."""
        made: type[BigTable[Glass]] = sortable(BigTable, (*self.FIRST, *LAST))
        return made(self.FIRST, name_of=_name, empty=EMPTY)

    def body(self) -> ComposeResult:
        """Put the notes' full names under the table."""
        yield LateWords()
        yield from super().body()
        yield Static(id="named")

    def on_glasses_page_read(self, message: Read) -> None:
        """Show them."""
        self.glasses, self.notes = message.glasses, message.notes
        self.query_one(LateWords).tell(message.late)
        self.show()

    def show(self) -> None:
        """Show the notes of this view; minutes and remarks stand beside them in every view."""
        shown = self.notes_shown
        self.list.columns = (*self.first, *note_columns(shown), *LAST)
        self.fill(self.glasses)
        others = len(self.notes) - len(shown)
        more = f" v: {others} other notes." if others > 0 else ""
        named = f"Notes: {', '.join(shown)}. Min: minutes in hand.{more}" if shown else ""
        self.query_one("#named", Static).update(Content(named))
        self.refresh_bindings()

    @property
    def first(self) -> tuple[Column[Glass], ...]:
        """The columns before the notes: with answers where any glass has one."""
        return (*self.FIRST, *(ANSWER if any(map(_answer, self.glasses)) else ()))

    @property
    def notes_a_view(self) -> int:
        """How many notes fit beside the rest."""
        rest = sum(column.width + 1 for column in (*self.first, *LAST))
        return max((self.size.width - rest) // (NOTE_WIDTH + 1), 1)

    @property
    def notes_shown(self) -> tuple[str, ...]:
        """The notes of this view."""
        start = self.view * self.notes_a_view
        return self.notes[start : start + self.notes_a_view]

    def can_now(self, action: str) -> bool:
        """Offer other notes where there are more than fit."""
        if action == "turn":
            return len(self.notes) > self.notes_a_view
        return super().can_now(action)

    def action_turn(self) -> None:
        """Go on to the next notes, and round to the first ones."""
        self.view = (self.view + 1) % -(-len(self.notes) // self.notes_a_view)
        self.show()

    def on_resize(self) -> None:
        """Begin with the first notes at another width."""
        self.view = 0
        if self.glasses:
            self.show()

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Show one glass in full."""
        from panel.words.glass_words import glass_lines

        self.app.push_screen(ReadSlip(f"Glass {event.row.code}", glass_lines(event.row)))


class SessionGlassesPage(GlassesPage, TellsNotAtBest):
    """One session after its close, in codes before the reveal."""

    PLACE = "sessions"

    @property
    def of_session(self) -> str:
        """The session."""
        return self.about

    def set_up(self) -> None:
        """Say which session."""
        super().set_up()
        self.head(f"Glasses of {self.about}")

    @work(thread=True, exclusive=True, group="glasses", exit_on_error=False)
    def read(self) -> None:
        """Read every glass."""
        from panel.questions.glasses import session_glasses

        with self.desk.store.read() as db:
            found = session_glasses(db, self.about)
        late = (found.after_reopening.words(),) if found.after_reopening else ()
        self.hand_over(self.Read(found.glasses, found.notes, late))


class CaskGlassesPage(GlassesPage):
    """One cask over the years, by revealed sessions."""

    PLACE = "casks"
    FIRST = OF_CASK

    def set_up(self) -> None:
        """Say which cask."""
        super().set_up()
        self.head(f"Glasses of cask {self.about}")

    @work(thread=True, exclusive=True, group="glasses", exit_on_error=False)
    def read(self) -> None:
        """Read every glass."""
        from panel.questions.glasses import cask_glasses

        with self.desk.store.read() as db:
            glasses = cask_glasses(db, self.about, as_of=self.desk.today())
        notes = dict.fromkeys(note for glass in glasses for note in glass.scores)
        self.hand_over(self.Read(glasses, tuple(notes)))


def _name(glass: Glass) -> tuple[str, str, str, int]:
    return glass.session, glass.assessor, glass.code, glass.pouring
