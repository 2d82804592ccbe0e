"""What stands on every screen of the booth: whose booth it is, one message, the keys."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from textual.content import Content
from textual.reactive import reactive
from textual.screen import Screen
from textual.widget import Widget

if TYPE_CHECKING:
    from textual.binding import ActiveBinding, Binding

KEY_NAMES = {
    "escape": "Esc",
    "question_mark": "?",
    "delete": "Del",
    "backspace": "Backspace",
    "enter": "Enter",
    "space": "Space",
    "tab": "Tab",
    "shift+tab": "Shift+Tab",
    "shift+left": "Shift ←",
    "shift+right": "Shift →",
    "left": "←",
    "right": "→",
    "up": "↑",
    "down": "↓",
    "home": "Home",
    "end": "End",
}


def key_name(key: str) -> str:
    """Return a key as it stands on a keyboard."""
    if key in KEY_NAMES:
        return KEY_NAMES[key]
    if key.startswith("ctrl+"):
        return f"Ctrl+{key.removeprefix('ctrl+').upper()}"
    return key.upper() if key[:1] == "f" and key[1:].isdigit() else key


def shown_key(binding: Binding) -> str:
    """Return the key of a binding as the booth writes it."""
    return binding.key_display or key_name(binding.key)


def by_action(active: Iterable[ActiveBinding]) -> Iterator[tuple[ActiveBinding, list[str]]]:
    """Yield each action once, with every key that reaches it; capitals of letters left out."""
    found: dict[str, tuple[ActiveBinding, list[str]]] = {}
    for one in active:
        if not one.enabled or not one.binding.id or not one.binding.description:
            continue
        keys = found.setdefault(one.binding.id, (one, []))[1]
        name = "0-9" if one.binding.key.isdigit() else key_name(one.binding.key)
        if name.lower() not in keys or name.startswith("Shift"):
            keys.append(name)
    yield from found.values()


class TopLine(Widget):
    """Which session, and whose booth."""

    DEFAULT_CSS = "TopLine { height: 1; background: $panel; color: $foreground; padding: 0 1; }"
    place: reactive[str] = reactive("")
    whose: reactive[str] = reactive("")

    def render(self) -> Content:
        """Draw the place to the left and the person to the right."""
        right = Content(self.whose).stylize("bold $primary")
        room = max(self.content_size.width - right.cell_length - 2, 0)
        left = Content(self.place).truncate(room, ellipsis=True)
        return Content.assemble(left, " " * (room - left.cell_length + 2), right)


class SayLine(Widget):
    """One message in words. Trouble stands behind an exclamation mark, not in colour alone."""

    DEFAULT_CSS = """
    SayLine { height: 2; padding: 0 1; color: $foreground; }
    SayLine.-trouble { color: $error; text-style: bold; }
    """
    said: reactive[str] = reactive("")

    def say(self, message: str, *, trouble: bool = False) -> None:
        """Show *message* in place of the one before."""
        self.set_class(trouble, "-trouble")
        self.said = f"! {message}" if trouble and message else message

    def render(self) -> Content:
        """Draw the message as it is; nothing in it is markup."""
        return Content(self.said)


class KeyStrip(Widget):
    """The keys that matter here, in as many rows as they need."""

    DEFAULT_CSS = """
    KeyStrip { height: auto; dock: bottom; background: $panel; color: $foreground; padding: 0 1; }
    """

    def on_mount(self) -> None:
        """Follow the screen's keys."""
        self.screen.bindings_updated_signal.subscribe(self, self._changed)

    def _changed(self, _screen: Screen[Any]) -> None:
        self.refresh(layout=True)

    def render(self) -> Content:
        """Draw key and word, never cut in the middle."""
        rows: list[Content] = [Content("")]
        for part in self._parts():
            if rows[-1].cell_length + part.cell_length > self._room() + 2:
                rows.append(Content(""))
            rows[-1] += part
        return Content("\n").join(rows)

    def _room(self) -> int:
        return max((self.container_size.width or self.app.size.width) - 2, 10)

    def _parts(self) -> Iterator[Content]:
        seen: set[str] = set()
        for active in self.screen.active_bindings.values():
            binding = active.binding
            if not (binding.show and binding.id and active.enabled) or binding.id in seen:
                continue
            seen.add(binding.id)
            yield Content.assemble(
                (shown_key(binding), "bold $accent"), " ", binding.description.lower(), "  "
            )
