"""What the booth has whatever it is for: two looks, help, a list of all, a calm end."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import ClassVar

from rich.text import Text
from textual.app import App
from textual.binding import Binding, BindingType
from textual.screen import Screen

from panel import look
from panel.booth.actions import Actions, Doable
from panel.booth.helping import Help
from panel.booth.themes import DAYLIGHT, LAMPLIGHT
from panel.booth.window import SayLine, by_action
from panel.fault_log import last_place, logged

OWN_FAULT = (
    "The booth stopped because of a fault of its own. Every score that it showed as kept is on "
    "disk: start it again and sign in, and you are at the same glass. Tell the lead this line:"
)


class PlainApp(App[None]):
    """An app with the booth's manners."""

    TITLE = "Oakpanel booth"
    ENABLE_COMMAND_PALETTE = False
    # The framework's own annotation keeps this from being a ClassVar.
    VERTICAL_BREAKPOINTS = [(0, "-low"), (36, "-tall")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "question_mark,f1",
            "keys",
            "Help",
            key_display="?/F1",
            id="booth.help",
            tooltip="All keys of this screen",
        ),
        Binding(
            "f3,ctrl+p",
            "find_action",
            "Find an action",
            False,
            id="booth.palette",
            tooltip="Find an action by its words",
            priority=True,
        ),
        Binding(
            "f2",
            "light",
            "Light or dark",
            False,
            id="booth.light",
            tooltip="Change the look",
            priority=True,
        ),
        Binding(
            "ctrl+q",
            "quit",
            "Quit",
            False,
            id="booth.quit",
            tooltip="Close the booth; all that is kept stays",
            priority=True,
        ),
    ]

    def action_help_quit(self) -> None:
        """Say how the booth is left: what ends other programs ends nothing here."""
        for line in self.screen.query(SayLine):
            line.say("ctrl+q closes the booth; all that is kept stays.")

    def put_look_on(self) -> None:
        """Bring both looks, and begin with the one that was chosen last."""
        self.register_theme(LAMPLIGHT)
        self.register_theme(DAYLIGHT)
        self.theme = DAYLIGHT.name if look.is_light() else LAMPLIGHT.name

    def action_keys(self) -> None:
        """Show all keys of this screen."""
        if isinstance(self.screen, Help):
            return
        rows = by_action(self.screen.active_bindings.values())
        keys = [(" ".join(k), one.tooltip or one.binding.description) for one, k in rows]
        self.push_screen(Help(keys))

    def action_light(self) -> None:
        """Change between the dark and the light look, here and at the next start."""
        light = self.theme == LAMPLIGHT.name
        self.theme = DAYLIGHT.name if light else LAMPLIGHT.name
        look.keep_light(light)

    def action_find_action(self) -> None:
        """Lay the list of all over the screen; do what is chosen once it is away again."""
        if isinstance(self.screen, Actions):
            return

        def chosen(one: Doable | None) -> None:
            if one is not None:
                self.call_later(partial(self.run_action, one.action, one.node))

        self.push_screen(Actions(list(doable(self.screen))), chosen)

    def _fatal_error(self) -> None:
        # The framework's page prints local variables, a PIN among them perhaps.
        if (error := self._exception) is not None:
            fault = f"{type(error).__name__}: {last_place(error)}"
            self.panic(Text(f"{OWN_FAULT}\n{fault}\n{logged(error)}"))


def doable(screen: Screen[object]) -> Iterator[Doable]:
    """Give every action of a screen, with its keys; digits are typed, not chosen."""
    for one, keys in by_action(screen.active_bindings.values()):
        if "digit(" not in one.binding.action:
            binding = one.binding
            words = binding.description
            yield Doable(words, " ".join(keys), one.tooltip, binding.action, one.node)
