"""Putting a backup back: what it costs is said first, and the word is typed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from time import monotonic, sleep
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.widgets import Static

from panel.desk.database_forms import named, path_in
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.desk.text_page import TextPage
from panel.errors import EntriesAtFault
from panel.questions.known_profile import KnownProfile
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.records.restore import Restored

WORD = "restore"
LOOKS_S = 5.0
"""How long a look of the desk itself may take, until it is said that the database is in use."""
COSTS = "\n\n".join(
    (
        "The backup takes the place of the database. All that was written after it was made is "
        "lost: scores, draws, people, signatures. What is there now is kept beside it under a name "
        "of its own; nothing is deleted.",
        "Nobody else may have the database open: close every booth first. Booths sign in again "
        "afterwards; scores that the backup lacks are listed, to be keyed again. Somebody who was "
        "erased since is back with it, and has to be erased again.",
    )
)


class RestoreForm(DeedForm):
    """Which backup."""

    BINDINGS: ClassVar[list[BindingType]] = [
        finishing("Put back", "Put this backup in the place of the database")
    ]
    PLACE = "house"
    ACT = Act.RESTORE
    TITLE_WORDS = "Put a backup back"
    DEFAULT_CSS = "RestoreForm #before { height: auto; padding: 0 1 1 1; }"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("file", "Backup", "the file of a backup", wide=True),
        Field("word", "Type the word", f"{WORD}, so that it is no slip"),
    )

    def __init__(self) -> None:
        super().__init__()
        self.told: Sequence[str] = ()

    def body(self) -> ComposeResult:
        """Say first what it costs."""
        yield Static(Content(COSTS), id="before")
        yield from super().body()

    def look(self, values: dict[str, str]) -> None:
        """See that there is such a file and that the word was typed."""
        faults = {}
        try:
            if not path_in(values, "file", "name the backup").exists():
                faults["file"] = "there is no such file"
        except EntriesAtFault as error:
            faults |= error.faults
        if values.get("word") != WORD:
            faults["word"] = f"type {WORD} here"
        if faults:
            raise EntriesAtFault(faults)

    def do(self, values: dict[str, str]) -> str:
        """Look at the backup, let go of the database, and put it back."""
        from panel.records.restore import look_at, restore
        from panel.store.house import read_setting
        from panel.words.restored_words import restored_lines

        desk, file = self.desk, path_in(values, "file", "name the backup")
        base, now = named(desk.store), desk.now()
        look_at(base, file, now=now, by=desk.by)
        done = self._alone(lambda: restore(base, file, now=now, by=desk.by))
        desk.known = KnownProfile()
        with desk.store.read() as db:
            desk.zone = str(read_setting(db, "time_zone"))
        self.told = [said.text for said in restored_lines(done)]
        return "The backup is put back."

    def _alone(self, put_back: Callable[[], Restored]) -> Restored:
        """Let go of the database first: a page of this desk may be looking at it for a moment."""
        from panel.errors import DatabaseLocked
        from panel.store.holders import holders

        until = monotonic() + LOOKS_S
        while True:
            self.desk.store.close()  # it opens again at the next question
            try:
                return put_back()
            except DatabaseLocked:
                if monotonic() > until or holders(self.desk.store):
                    raise
            sleep(0.1)

    def leave(self) -> None:
        """Show what is to be done again."""
        page = TextPage(self.PLACE, "Put back", self.told, file="put-back.txt")
        self.app.switch_screen(page)
