"""Checking the database and backing it up."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.desk.text_page import TextPage
from panel.desk.typed import Entries
from panel.errors import EntriesAtFault
from panel.figures import in_digits

if TYPE_CHECKING:
    from panel.store.engine import Store

NO_YES = ("no", "yes")


def named(store: Store) -> str:
    """Return the database as the commands name it."""
    if store.url.get_backend_name() == "sqlite":
        return str(store.url.database)
    return store.url.render_as_string(hide_password=False)


def path_in(values: dict[str, str], name: str, wanted: str) -> Path:
    """Return a path that was typed, from the folder where the desk was started.

    Raises
    ------
    EntriesAtFault
        Nothing was typed, or there is no such home.
    """
    typed = Entries(values)
    text = typed.needed(name, wanted)
    typed.settle()
    try:
        return Path(text).expanduser().absolute()
    except RuntimeError:
        raise EntriesAtFault({name: f"{text!r}: there is no such home folder"}) from None


class CheckForm(DeedForm):
    """What to hold the log against; then all that was found."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Check", "Look at all of it")]
    PLACE = "house"
    TITLE_WORDS = "Check the database"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("head", "Printed head", "12 digits or more from a sheet; may be empty"),
        Field("fits", "Reckon anew", "what is kept of the fit, and compare", choices=NO_YES),
        Field("anew", "Begin anew", "yes: a backup was put back on purpose", choices=NO_YES),
    )

    def __init__(self) -> None:
        super().__init__()
        self.found: Sequence[str] = ()

    def do(self, values: dict[str, str]) -> str:
        """Look, and say how far it is."""
        from panel.questions.checked import checked, examination_lines, read_head

        typed = values.get("head")
        found = checked(
            self.desk.store,
            read_head(typed) if typed else None,
            seen_anew=values["anew"] == "yes",
            fits=values["fits"] == "yes",
            tell=self.far,
        )
        self.found = examination_lines(found)
        return f"Checked: {WORST[found.worst.value]}."

    def far(self, done: int, whole: int) -> None:
        """Say how far it is."""
        self.app.call_from_thread(self.say, f"Checking: {done} of {whole} looks done ...")

    def leave(self) -> None:
        """Show all that was found."""
        page = TextPage(self.PLACE, "What was found", self.found, file="database-check.txt")
        self.app.switch_screen(page)


WORST = {
    "good": "all is well",
    "warning": "look at what is marked `look`",
    "fault": "there is a FAULT",
}


class BackupForm(DeedForm):
    """Into which new file."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Copy", "Copy the database")]
    PLACE = "house"
    TITLE_WORDS = "Back up"

    def fields(self) -> tuple[Field, ...]:
        """Return the file, a new name proposed."""
        stem = Path(self.desk.store.url.database or "oakpanel").stem
        proposed = f"{stem}-{self.desk.now():%Y-%m-%d-%H%M}.sqlite"
        hint = "a new file, on another disk if you can"
        return (Field("file", "File", hint, value=proposed, wide=True),)

    def set_up(self) -> None:
        """Stand on the name."""
        super().set_up()
        self.lines[0].entry.focus()

    def do(self, values: dict[str, str]) -> str:
        """Copy, and check the copy."""
        from panel.store.backup import back_up

        file = path_in(values, "file", "name a new file")
        if file.exists():
            raise EntriesAtFault({"file": "it is there already; give a new name"})
        done = back_up(named(self.desk.store), file)
        return (
            f"Copied to {done.copy} ({in_digits(done.size_bytes / 2**20, ',.1f')} MiB); the "
            "copy is whole. "
            "It holds the key and people's names: keep it as carefully."
        )
