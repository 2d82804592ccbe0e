"""An assessor's own words: named while the first flight is nosed, before and beside the scores."""

from __future__ import annotations

from enum import StrEnum
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.geometry import Region
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Input, Static

from panel.booth.dialogs import BOX, Question
from panel.booth.keys import SEAT_KEYS, WORD_KEYS
from panel.booth.seated import SeatedScreen
from panel.booth.window import KeyStrip
from panel.errors import BoothError
from panel.seat import said
from panel.seat.jobs import Job, NameWord, RenameWord, TakeWordBack
from panel.session import naming, scoring
from panel.store.booth_tray import Line
from panel.store.word_text import LONGEST_WORD, plain_word

NONE_YET = "No word yet. Enter, then type the first one."
STATE_CELLS = 14


class WordState(StrEnum):
    """What became of a word."""

    KEPT = "kept"
    SCORED = "kept, scored"
    UNDER_WAY = "keeping ..."
    NOT_YET = "not kept yet"


class WordField(Input):
    """A field whose Enter takes what was typed before it, and nothing that a burst brings after."""

    def on_key(self, event: events.Key) -> None:
        """Submit in the field's own turn: elsewhere keys that follow would be in it already."""
        if event.key == "enter":
            event.stop()
            event.prevent_default()
            self.post_message(self.Submitted(self, self.value))


class WriteWord(Question[str | None]):
    """A word, typed."""

    DEFAULT_CSS = f"WriteWord {{ {BOX} & Input {{ margin-top: 1; }} }}"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Leave", id="word.leave", tooltip="Change nothing"),
    ]

    def __init__(self, asked: str, word: str = "") -> None:
        super().__init__()
        self.asked, self.word = asked, word

    def compose(self) -> ComposeResult:
        """Lay out the question, the field and the keys."""
        with Vertical():
            yield Static(self.asked, classes="words", markup=False)
            yield WordField(self.word, max_length=LONGEST_WORD, select_on_focus=False)
            yield Static("Enter: keep     Esc: leave as it was", classes="keys", markup=False)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Close with the word."""
        self.answer(event.value)

    def action_leave(self) -> None:
        """Close without a change."""
        self.answer(None)


class WordRows(Widget):
    """The words, one under the pointer; those on their way to the disk stand below."""

    DEFAULT_CSS = "WordRows { width: 100%; height: auto; }"
    pointer: reactive[int] = reactive(0)

    def __init__(self) -> None:
        super().__init__()
        self.words: tuple[tuple[str, WordState], ...] = ()

    def show(self, words: tuple[tuple[str, WordState], ...]) -> None:
        """Show words, each with what became of it."""
        self.words = words
        self.refresh(layout=True)

    def render(self) -> Content:
        """Draw a row a word."""
        if not self.words:
            return Content(NONE_YET)
        return Content("\n").join(self._row(i) for i in range(len(self.words)))

    def _row(self, i: int) -> Content:
        here = i == self.pointer
        word, state = self.words[i]
        lost = state is WordState.NOT_YET
        name = Content(word).truncate(LONGEST_WORD, ellipsis=True)
        return Content.assemble(
            ("▸ " if here else "  ", "bold $accent"),
            (f"{i + 1:>2} ", "bold $accent"),
            name.pad_right(LONGEST_WORD - name.cell_length).stylize("bold" if here else ""),
            "  ",
            (state.ljust(STATE_CELLS), "bold $error" if lost else "$success"),
        )


class WordsScreen(SeatedScreen, inherit_bindings=False):
    """The words of one assessor: named, written anew or taken back while that is open."""

    DEFAULT_CSS = """
    WordsScreen #aim { height: auto; margin: 1 1 0 1; }
    WordsScreen #count { height: 1; margin: 1 1 0 1; text-style: bold; }
    WordsScreen VerticalScroll { height: 1fr; margin: 0 1; scrollbar-size-vertical: 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [*WORD_KEYS, *SEAT_KEYS]

    def __init__(self, words: str = "", *, trouble: bool = False) -> None:
        super().__init__(words, trouble=trouble)
        self.aim = Static(id="aim", markup=False)
        self.count = Static(id="count", markup=False)
        self.scroll = VerticalScroll(can_focus=False)
        self.rows = WordRows()

    def compose(self) -> ComposeResult:
        """Lay out what to do, the words, the message and the keys."""
        yield self.top
        yield self.aim
        yield self.count
        with self.scroll:
            yield self.rows
        yield self.say_line
        yield KeyStrip()

    @property
    def lines(self) -> tuple[Line, ...]:
        """Return the words that are on disk."""
        return self.tray.lines

    @property
    def most(self) -> int | None:
        """Return how many words there may be."""
        return self.tray.own.most if self.tray.own is not None else None

    def show_tray(self) -> None:
        """Show the words as the records have them, then those that are under way."""
        super().show_tray()
        self.aim.update(said.words_aim(self.tray))
        onward = "  (g: to the glasses)" if self.lines else ""
        self.count.update(f"{said.words_count(self.tray)}{onward}")
        kept = ((line.name, self._state(line)) for line in self.lines)
        self.rows.show((*kept, *self._under_way()))
        self._point(self.rows.pointer)

    def _state(self, line: Line) -> WordState:
        own = self.tray.own
        scored = own is not None and line.version_id in own.scored
        return WordState.SCORED if scored else WordState.KEPT

    def _under_way(self) -> list[tuple[str, WordState]]:
        keeper = self.booth.keeper
        state = WordState.UNDER_WAY if keeper.trouble is None else WordState.NOT_YET
        return [(job.typed, state) for job in keeper.under_way() if isinstance(job, NameWord)]

    @property
    def chosen(self) -> Line | None:
        """Return the word under the pointer."""
        at = self.rows.pointer
        return self.lines[at] if at < len(self.lines) else None

    def action_point(self, step: int) -> None:
        """Go up or down."""
        self._point(self.rows.pointer + step)

    def _point(self, row: int) -> None:
        self.rows.pointer = min(max(row, 0), max(len(self.lines) - 1, 0))
        here = Region(0, self.rows.pointer, 1, 1)
        self.call_after_refresh(self.scroll.scroll_to_region, here, animate=False)

    def on_click(self, event: events.Click) -> None:
        """Let a touch choose its word."""
        if event.widget is self.rows and event.y < len(self.lines):
            self._point(event.y)

    def _may_name(self) -> bool:
        try:
            naming.check_naming(self.tray)
        except BoothError as error:
            self.say(str(error), trouble=True)
            return False
        return True

    def action_name(self) -> None:
        """Type a new word."""
        if not self._may_name():
            return
        if self.most is not None and len(self.lines) >= self.most:
            self.say(f"{self.most} words at most here: take back one first.", trouble=True)
            return
        self.app.push_screen(WriteWord(said.WORD_ASKED), self._named)

    def _named(self, typed: str | None) -> None:
        if typed and plain_word(typed):
            self.say("")
            self.booth.keep(NameWord(typed))
            self.show_tray()

    def action_mend(self) -> None:
        """Write the word under the pointer anew, unless a glass was scored on it."""
        line = self.chosen
        if line is None or not self._may_name() or not self._unscored(line):
            return

        def written(typed: str | None) -> None:
            if typed and plain_word(typed) != line.name:
                self.booth.keep(RenameWord(line.version_id, typed))

        self.app.push_screen(WriteWord(f"{line.name}: how should it read?", line.name), written)

    def action_take_back(self) -> None:
        """Forget the word under the pointer, unless a glass was scored on it."""
        line = self.chosen
        if line is not None and self._unscored(line):
            self.booth.keep(TakeWordBack(line.version_id, line.name))

    def _unscored(self, line: Line) -> bool:
        if self._state(line) is WordState.KEPT:
            return True
        self.say(f"{line.name} has been scored: it stays as it is.", trouble=True)
        return False

    def action_glasses(self) -> None:
        """Go on to the glasses, once there is a word to score them on."""
        if not self.booth.keeper.idle:
            self.say("Not everything is kept yet. Wait a moment, or r tries again.", trouble=True)
        elif scoring.needs_words(self.tray):
            self.say("Name at least one word first: Enter, then type it.", trouble=True)
        else:
            self.booth.go_where_the_tray_says()

    def kept(self, job: Job, at: str) -> None:
        """Show as kept what is on disk, and which finished glasses lack a score on it."""
        super().kept(job, at)
        if isinstance(job, NameWord):
            self._point(len(self.lines) - 1)
