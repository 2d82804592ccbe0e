"""A form with a file in it: its name is completed while it is typed, or taken from a list."""

from __future__ import annotations

from pathlib import Path
from typing import ClassVar

from textual.binding import Binding, BindingType

from panel.desk.deed_form import DeedForm
from panel.desk.entries import TextLine
from panel.desk.files_page import READABLE, FilesPage, PathSuggester


class FileForm(DeedForm):
    """The field that is called `file` holds the path."""

    ENDINGS: ClassVar[frozenset[str]] = READABLE
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f4", "files", "Files", id="file.list", tooltip="Choose from a folder"),
    ]

    def set_up(self) -> None:
        """Complete names."""
        super().set_up()
        line = self.line_of("file")
        if line is not None and isinstance(line.entry, TextLine):
            line.entry.suggester = PathSuggester(self.ENDINGS)

    def action_files(self) -> None:
        """Choose from the files of the folder that was typed, else of where the desk began."""
        line = self.line_of("file")
        if line is None:
            return

        def take(path: str | None) -> None:
            if path:
                line.entry.value = path
                line.entry.focus()
                self.taken()

        folder = Path(line.entry.value or ".").expanduser()
        folder = folder if folder.is_dir() else folder.parent
        self.app.push_screen(FilesPage(self.PLACE, folder.absolute(), self.ENDINGS), take)

    def taken(self) -> None:
        """See what a file that was taken tells of the other fields."""
