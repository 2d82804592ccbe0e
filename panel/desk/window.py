"""What stands on every screen of the desk: places, heading, message line, keys."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from textual.app import App
from textual.content import Content
from textual.reactive import reactive
from textual.screen import Screen
from textual.style import Style
from textual.widget import Widget
from textual.widgets import Input

if TYPE_CHECKING:
    from collections.abc import Iterator

    from textual.binding import ActiveBinding, Binding

PLACES: tuple[tuple[str, str], ...] = (
    ("sessions", "Sessions"),
    ("casks", "Casks"),
    ("targets", "Targets"),
    ("lexicon", "Lexicon"),
    ("people", "People"),
    ("releases", "Releases"),
    ("house", "House"),
)

KEY_NAMES = {
    "enter": "enter",
    "escape": "esc",
    "question_mark": "?",
    "slash": "/",
    "full_stop": ".",
    "minus": "-",
    "plus": "+",
    "comma": ",",
    "space": "space",
    "left": "←",
    "right": "→",
}


FINISHING = ("form.keep", "pick.take", "confirm.yes", "door.on")
"""The keys that finish a page."""


def rank_of(way: ActiveBinding) -> int:
    """Return where a way stands: what finishes, what the page does, its picture, handing it on."""
    if way.binding.id in FINISHING:
        return 0
    if way.binding.id == "page.picture":
        return 2
    return 3 if way.binding.key == "x" else 1


def is_last(way: ActiveBinding) -> bool:
    """Tell whether it is the way back, which stands at the end, whatever else there is."""
    return way.binding.key == "escape"


LONGEST, SHORTEST = 8, 3
"""Letters of a place's word."""
ROOMY = 100
"""Cells from which the places stand apart; in fewer they leave room for who sits here."""


class TopLine(Widget):
    """The places, the one where we are between two staves, and who sits at which database.

    A call from a booth stands there before all else: the places keep their numbers beside it.
    """

    DEFAULT_CSS = """
    TopLine {
        height: 1; background: $panel; color: $foreground;
        link-style: none; link-color: $foreground; link-background: $panel;
    }
    """

    call: reactive[str] = reactive("")

    def __init__(self, place: str, base: str, by: str | None, call: str = "") -> None:
        super().__init__()
        self.place, self.base, self.by = place, base, by
        self.set_reactive(TopLine.call, call)

    def render(self) -> Content:
        """Draw places to the left, the rest to the right where it fits."""
        if self.call:
            return self._calling()
        who = Content(self.by or "")
        left = self._places(self.size.width - who.cell_length - 2)
        room = self.size.width - left.cell_length - 2
        whose = Content(f"{self.base} · {self.by}" if self.by else self.base)
        if whose.cell_length > room:  # who sits here matters more than at which file
            whose = Content(self.by or self.base)
        right = whose.truncate(max(room, 0), ellipsis=True)
        return Content.assemble(left, " " * max(room - right.cell_length + 1, 0), right)

    def _places(self, room: int) -> Content:
        """Draw the places, their words shortened where whoever sits here would not fit beside."""
        gap = Content(" " if self.size.width >= ROOMY else "")
        for letters in range(LONGEST, SHORTEST - 1, -1):
            short = ((i, name, words[:letters]) for i, (name, words) in enumerate(PLACES, 1))
            line = gap.join(self._place(*place) for place in short)
            if line.cell_length <= room:
                break
        return line

    def _calling(self) -> Content:
        """Draw the call, and of the places what fits beside it."""
        call = Content(f" ► {self.call}  a answers ").stylize("bold reverse $accent")
        room = self.size.width - call.cell_length
        places = [self._place(i, *place) for i, place in enumerate(PLACES, 1)]
        left = Content(" ").join(places)
        if left.cell_length > room:
            left = Content("").join(
                self._place(i, name, "") for i, (name, _) in enumerate(PLACES, 1)
            )
        left = left.truncate(max(room, 0))
        return Content.assemble(left, " " * max(room - left.cell_length, 0), call)

    def _place(self, number: int, name: str, words: str) -> Content:
        here, said = name == self.place, f"{number} {words}".strip()
        shown = f"▌{said}▐" if here else f" {said} "
        click = Style.from_meta({"@click": f"app.go('{name}')"})
        return Content(shown).stylize("bold $primary" if here else "").stylize(click)


class Hoop(Widget):
    """A heading: a hoop around the cask, its title left, a fact or two right."""

    DEFAULT_CSS = "Hoop { height: 1; color: $secondary; }"
    title: reactive[str] = reactive("")
    fact: reactive[str] = reactive("")

    def __init__(self, title: str = "") -> None:
        super().__init__()
        self.set_reactive(Hoop.title, title)

    def render(self) -> Content:
        """Draw title and fact into the hoop."""
        fact = Content(f" {self.fact} ━━" if self.fact else "━━")
        room = max(self.size.width - fact.cell_length - 5, 0)
        title = Content(self.title).truncate(room, ellipsis=True).stylize("bold $foreground")
        band = "━" * max(room - title.cell_length, 0)
        return Content.assemble("━━ ", title, " ", band, fact)


class SayLine(Widget):
    """One message: what was done, or what is wrong, in words."""

    DEFAULT_CSS = """
    SayLine { height: auto; max-height: 3; min-height: 1; padding: 0 1; }
    SayLine.-trouble { color: $error; text-style: bold; }
    """
    said: reactive[str] = reactive("", layout=True)

    def say(self, message: str, *, trouble: bool = False) -> None:
        """Show *message*; trouble stands behind an exclamation mark, not in colour alone."""
        self.set_class(trouble, "-trouble")
        self.said = f"! {message}" if trouble and message else message

    def render(self) -> Content:
        """Draw the message as it is; nothing in it is markup."""
        return Content(self.said)


class KeyLine(Widget):
    """The keys of this screen, as many as fit, the way back always; all are in the list of all."""

    DEFAULT_CSS = """
    KeyLine {
        height: 1; background: $panel; color: $foreground; dock: bottom;
        link-style: none; link-color: $foreground; link-background: $panel;
    }
    """

    def on_mount(self) -> None:
        """Follow the screen's keys."""
        self.screen.bindings_updated_signal.subscribe(self, self._changed)

    def _changed(self, _screen: Screen[Any]) -> None:
        self.refresh()

    def render(self) -> Content:
        """Draw the keys that fit and where the others are."""
        back = [key_and_word(way) for way in self._ways() if is_last(way)]
        rest = Content("").join([*back, self._all()])
        room = self.size.width - rest.cell_length
        line = Content("")
        for part in (key_and_word(way) for way in self._ways() if not is_last(way)):
            if line.cell_length + part.cell_length > room + 1:  # two blanks may be one
                break
            line += part
        line = line.truncate(room) if line.cell_length > room else line
        return Content.assemble(line, " " * max(room - line.cell_length, 0), rest)

    def _ways(self) -> Iterator[ActiveBinding]:
        """Give what is shown: what finishes the page first, so that it never falls off the end."""
        offered: dict[str, ActiveBinding] = {}
        for active in self.screen.active_bindings.values():
            if active.binding.show and active.enabled and active.binding.description:
                offered.setdefault(active.binding.action, active)
        yield from sorted(offered.values(), key=rank_of)

    def _all(self) -> Content:
        if self.screen.is_modal:  # the keys of the desk do not reach into a slip
            return Content("")
        typing = isinstance(self.screen.focused, Input)
        return Content(" f3 all  f1 keys " if typing else " . all  ? keys ")


def key_and_word(active: ActiveBinding) -> Content:
    """Return ` key word ` that may be clicked."""
    shown = shown_key(active.binding)
    click = Style.from_meta({"@click": clickable(active)})
    word = active.binding.description.lower()
    return Content.assemble((f" {shown} ", "bold $accent"), (f"{word} ", "")).stylize(click)


def clickable(active: ActiveBinding) -> str:
    """Return the action with the place that knows it, so that a click reaches it too."""
    action = active.binding.action
    if action.startswith(("app.", "screen.", "focused.")):
        return action
    if isinstance(active.node, App):
        return f"app.{action}"
    return f"screen.{action}" if isinstance(active.node, Screen) else f"focused.{action}"


def shown_key(binding: Binding) -> str:
    """Return a key as it stands on a keyboard."""
    return binding.key_display or KEY_NAMES.get(binding.key, binding.key)
