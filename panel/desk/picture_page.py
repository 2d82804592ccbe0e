"""An answer as a picture, drawn to the width there is; one key writes it as a file to hand on."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from panel.desk.file_names import free_path, plain_name
from panel.desk.keys import key
from panel.desk.page import Follows, Page

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from textual.app import ComposeResult
    from textual.binding import BindingType

    from analysis.pictures import Picture, Plane
    from panel.store.engine import Session

LEAST_WIDTH = 40


class PicturePage(Page):
    """Pictures below each other, to scroll through."""

    FOLLOWS = Follows.WHEN_ASKED
    DEFAULT_CSS = "PicturePage #drawn { padding: 0 1; height: auto; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("x", "hand_on", "Hand on", "picture.hand_on", "Write it as an SVG file in this folder"),
    ]

    @dataclass
    class Read(Message):
        """The pictures are made."""

        pictures: Sequence[Picture | Plane]

    def __init__(
        self, place: str, name: str, make: Callable[[Session], Sequence[Picture | Plane]]
    ) -> None:
        super().__init__()
        self.PLACE = place  # type: ignore[misc]
        self.named = name
        self.make = make
        self.pictures: Sequence[Picture | Plane] = ()

    def body(self) -> ComposeResult:
        """Put the drawing into a scrolled view."""
        with VerticalScroll():
            yield Static(id="drawn")

    def set_up(self) -> None:
        """Name what is drawn."""
        super().set_up()
        self.head(self.named, "as a picture")
        self.say("Drawing ...")

    @work(thread=True, exclusive=True, group="picture", exit_on_error=False)
    def read(self) -> None:
        """Make the pictures from the records."""
        with self.reckoning(), self.desk.store.read() as db:
            pictures = self.make(db)
        self.hand_over(self.Read(pictures))

    def on_picture_page_read(self, message: Read) -> None:
        """Draw them."""
        self.pictures = message.pictures
        self.say("" if self.pictures else "There is nothing to draw in it.")
        self.on_resize()

    def on_resize(self) -> None:
        """Draw anew at the width of now."""
        from panel.pictures.cells import to_cells

        if self.pictures:
            lines = to_cells(*self.pictures, width=max(self.size.width - 4, LEAST_WIDTH))
            self.query_one("#drawn", Static).update(Content("\n".join(lines)))

    def action_hand_on(self) -> None:
        """Write the pictures to a new file that only its owner can read."""
        from panel.errors import OakpanelError
        from panel.pictures.writing import write_picture

        if not self.pictures:
            self.say("There is nothing to draw in it.")
            return
        path = free_path(Path.cwd() / f"{plain_name(self.named.casefold(), 'picture')}.svg")
        try:
            write_picture(path, *self.pictures)
        except OakpanelError as error:
            self.say(str(error), trouble=True)
        else:
            self.say(f"The picture is in {path}.")
