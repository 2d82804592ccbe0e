"""What a form's fields are typed, chosen or picked in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Input


@dataclass(frozen=True)
class Field:
    """One line of a form. `name` is what the records call it; `picks` opens a list.

    What is `secret` does not show as it is typed.
    """

    name: str
    label: str
    hint: str = ""
    value: str = ""
    choices: tuple[str, ...] = ()
    picks: bool = False
    wide: bool = False
    secret: bool = False


class ChoiceLine(Widget, can_focus=True):
    """One of a few words; left and right change it, a letter jumps to it."""

    DEFAULT_CSS = """
    ChoiceLine { height: 1; width: 26; background: $surface; padding: 0 1; }
    ChoiceLine:focus { background: $panel; text-style: bold; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "turn(-1)", "Before", id="choice.before", tooltip="The choice before"),
        Binding("right,space", "turn(1)", "Next", id="choice.next", tooltip="The next choice"),
        Binding("enter,down", "screen.next_field", "On", show=False, id="choice.on"),
        Binding("up", "screen.field_before", "Field before", show=False, id="choice.up"),
    ]
    place: reactive[int] = reactive(0)

    @dataclass
    class Changed(Message):
        """Another word was chosen."""

        line: ChoiceLine

    def __init__(self, choices: Sequence[str], value: str = "") -> None:
        super().__init__()
        self.choices = tuple(choices)
        self.set_reactive(ChoiceLine.place, self.choices.index(value) if value in choices else 0)

    @property
    def value(self) -> str:
        """The word chosen."""
        return self.choices[self.place]

    @value.setter
    def value(self, word: str) -> None:
        self.place = self.choices.index(word)

    def action_turn(self, step: int) -> None:
        """Go to the next word or the one before, round the end."""
        self.place = (self.place + step) % len(self.choices)

    def watch_place(self) -> None:
        """Tell the form."""
        self.post_message(self.Changed(self))

    def on_click(self) -> None:
        """A click takes the next word."""
        self.action_turn(1)

    def render(self) -> Content:
        """Draw the word between two arrows."""
        return Content(f"◂ {self.value or '(none)'} ▸")


class DoorLine(Input):
    """A field behind which a slip goes on, after every key that was typed before."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "submit", "Go on", id="door.on", tooltip="Go on, or in"),
        Binding("down", "app.focus_next", "Next field", show=False, id="door.next"),
        Binding("up", "app.focus_previous", "Field before", show=False, id="door.before"),
    ]


class TextLine(Input):
    """A field that is typed; Enter and the arrows go on to the next field."""

    DEFAULT_CSS = "TextLine { width: 26; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter,down", "screen.next_field", "Next field", show=False, id="field.next"),
        Binding("up", "screen.field_before", "Field before", show=False, id="field.before"),
    ]


class PickLine(Widget, can_focus=True):
    """Something taken from a list; what is taken stands here, one name a line of the value."""

    DEFAULT_CSS = """
    PickLine { height: 1; width: 26; background: $surface; padding: 0 1; }
    PickLine:focus { background: $panel; text-style: bold; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter,space", "pick", "Choose", id="pick.open", tooltip="Choose from a list"),
        Binding("down", "screen.next_field", "Next field", show=False, id="pick.next"),
        Binding("up", "screen.field_before", "Field before", show=False, id="pick.before"),
        Binding("delete,backspace", "empty", "Empty", show=False, id="pick.empty"),
    ]
    value: reactive[str] = reactive("")

    @dataclass
    class Asked(Message):
        """The list is wanted."""

        line: PickLine

    @dataclass
    class Changed(Message):
        """Something else was taken."""

        line: PickLine

    def __init__(self, value: str = "") -> None:
        super().__init__()
        self.set_reactive(PickLine.value, value)

    @property
    def taken(self) -> tuple[str, ...]:
        """What is taken, in order."""
        return tuple(self.value.splitlines())

    def action_pick(self) -> None:
        """Ask for the list."""
        self.post_message(self.Asked(self))

    def watch_value(self) -> None:
        """Tell the form."""
        self.post_message(self.Changed(self))

    def action_empty(self) -> None:
        """Take nothing."""
        self.value = ""

    def on_click(self) -> None:
        """A click opens the list."""
        self.action_pick()

    def render(self) -> Content:
        """Draw how many and the first of them."""
        taken = self.taken
        if not taken:
            return Content("▾ (none)")
        count = f"{len(taken)}: " if len(taken) > 1 else ""
        return Content(f"▾ {count}{', '.join(taken)}").truncate(self.size.width, ellipsis=True)
