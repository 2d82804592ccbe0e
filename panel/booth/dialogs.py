"""Small questions in front of a screen: yes or no, one of a few, several of a few, a note."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import ClassVar

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.reactive import reactive
from textual.screen import ModalScreen, ScreenResultType
from textual.widget import Widget
from textual.widgets import Input, Static

from panel.seat.said import note_asked

BOX = """
    align: center middle;
    & > Vertical {
        width: 66; max-width: 95%; height: auto; max-height: 95%;
        padding: 1 2; background: $surface; border: round $primary;
    }
    & .keys { color: $secondary; margin-top: 1; height: auto; }
    & .words { height: auto; }
"""


class Question(ModalScreen[ScreenResultType]):
    """A question that is answered once: a second Enter must not close what is behind it."""

    _answered = False

    def answer(self, result: ScreenResultType) -> None:
        """Close with *result*, unless it is closing already or was taken away."""
        if self.is_active and not self._answered:
            self._answered = True
            self.dismiss(result)


class Ask(Question[bool]):
    """A question with yes and no."""

    DEFAULT_CSS = f"Ask {{ {BOX} }}"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y,Y,enter", "answer(True)", "Yes", id="ask.yes", tooltip="Yes, do it"),
        Binding("n,N,escape", "answer(False)", "No", id="ask.no", tooltip="No, leave it"),
    ]

    def __init__(self, question: str) -> None:
        super().__init__()
        self.question = question

    def compose(self) -> ComposeResult:
        """Lay out question and keys."""
        with Vertical():
            yield Static(self.question, classes="words", markup=False)
            yield Static("y or Enter: yes     n or Esc: no", classes="keys", markup=False)

    def action_answer(self, yes: bool) -> None:
        """Close with the answer."""
        self.answer(yes)


class Rows(Widget):
    """Numbered choices, one under the pointer, ticked where several may be taken."""

    DEFAULT_CSS = "Rows { height: auto; margin-top: 1; }"
    pointer: reactive[int] = reactive(0)
    ticked: reactive[frozenset[int]] = reactive(frozenset[int]())

    def __init__(self, choices: Sequence[str], ticked: Collection[int], several: bool) -> None:
        super().__init__()
        self.choices = tuple(choices)
        self.several = several
        self.set_reactive(Rows.ticked, frozenset(ticked))

    def render(self) -> Content:
        """Draw a row a choice."""
        return Content("\n").join(self._row(i) for i in range(len(self.choices)))

    def _row(self, i: int) -> Content:
        here = i == self.pointer
        box = ("[x] " if i in self.ticked else "[ ] ") if self.several else ""
        return Content.assemble(
            ("▸ " if here else "  ", "bold $accent"),
            (f"{i + 1} ", "bold $accent"),
            (f"{box}{self.choices[i]}", "bold" if here else ""),
        )


class Choose(Question[frozenset[int] | None]):
    """One of a few, taken by its number at once; or several, ticked and then kept by Enter."""

    DEFAULT_CSS = f"Choose {{ {BOX} }}"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up,e", "point(-1)", "Up", id="choose.up", tooltip="The choice above"),
        Binding("down,d", "point(1)", "Down", id="choose.down", tooltip="The choice below"),
        Binding("space", "tick", "Tick", id="choose.tick", tooltip="Take this one, or not"),
        Binding("enter", "keep", "Keep", id="choose.keep", tooltip="Keep what is chosen"),
        Binding("escape", "leave", "Leave", id="choose.leave", tooltip="Change nothing"),
    ]

    def __init__(
        self,
        question: str,
        choices: Sequence[str],
        *,
        ticked: Collection[int] = (),
        several: bool = False,
    ) -> None:
        super().__init__()
        self.question = question
        self.rows = Rows(choices, ticked, several)

    def compose(self) -> ComposeResult:
        """Lay out question, rows and keys."""
        with Vertical():
            yield Static(self.question, classes="words", markup=False)
            yield self.rows
            yield Static(self._keys(), classes="keys", markup=False)

    def _keys(self) -> str:
        last = len(self.rows.choices)
        if self.rows.several:
            return f"1-{last} or Space: tick     Enter: keep     Esc: leave as it was"
        return f"1-{last} or Enter: take     Esc: leave as it was"

    def on_key(self, event: events.Key) -> None:
        """Let a number take its row."""
        if event.character and event.character in "123456789"[: len(self.rows.choices)]:
            event.stop()
            self._take(int(event.character) - 1)

    def on_click(self, event: events.Click) -> None:
        """Let a touch take its row."""
        if event.widget is self.rows and event.y < len(self.rows.choices):
            self._take(event.y)

    def _take(self, row: int) -> None:
        self.rows.pointer = row
        if self.rows.several:
            self.action_tick()
        else:
            self.answer(frozenset({row}))

    def action_point(self, step: int) -> None:
        """Move the pointer."""
        last = len(self.rows.choices) - 1
        self.rows.pointer = min(max(self.rows.pointer + step, 0), last)

    def action_tick(self) -> None:
        """Take the row under the pointer, or let it go."""
        self.rows.ticked = self.rows.ticked ^ {self.rows.pointer}

    def action_keep(self) -> None:
        """Close with what is chosen."""
        several = self.rows.several
        self.answer(self.rows.ticked if several else frozenset({self.rows.pointer}))

    def action_leave(self) -> None:
        """Close without a change."""
        self.answer(None)


class WriteNote(Question[str | None]):
    """A note about the glass."""

    DEFAULT_CSS = f"WriteNote {{ {BOX} & Input {{ margin-top: 1; }} }}"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Leave", id="note.leave", tooltip="Leave the note as it was"),
    ]

    def __init__(self, code: str, text: str, longest: int) -> None:
        super().__init__()
        self.code, self.text, self.longest = code, text, longest

    def compose(self) -> ComposeResult:
        """Lay out the question, the field and the keys."""
        with Vertical():
            yield Static(note_asked(self.code), classes="words", markup=False)
            yield Input(self.text, max_length=self.longest)
            yield Static("Enter: keep     Esc: leave as it was", classes="keys", markup=False)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Close with the text."""
        self.answer(event.value)

    def action_leave(self) -> None:
        """Close without a change."""
        self.answer(None)
