"""The files of a folder, to choose one from; and names completed while they are typed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import ClassVar

from textual import on, work
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.suggester import Suggester

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.list_page import FindLine, ListPage
from panel.figures import in_digits

READABLE = frozenset({".csv", ".txt", ".tsv", ".xlsx", ".xlsm"})
UP = ".."


@dataclass(frozen=True)
class Entry:
    """A file or a folder."""

    path: Path
    name: str
    is_folder: bool
    size_bytes: int | None
    changed: datetime | None


def entries_of(folder: Path, endings: frozenset[str] = READABLE) -> list[Entry]:
    """Return the folder above, the folders in it, then its files of these endings.

    Raises
    ------
    OSError
        It cannot be looked into.
    """
    inside = sorted(folder.iterdir(), key=lambda path: path.name.casefold())
    shown = [path for path in inside if not path.name.startswith(".")]
    folders = [path for path in shown if path.is_dir()]
    files = [path for path in shown if path.is_file() and path.suffix.lower() in endings]
    above = Entry(folder.parent, UP, True, None, None)
    return [
        above,
        *(Entry(path, f"{path.name}/", True, None, None) for path in folders),
        *(_file(path) for path in files),
    ]


def _file(path: Path) -> Entry:
    about = path.stat()
    return Entry(path, path.name, False, about.st_size, datetime.fromtimestamp(about.st_mtime))


COLUMNS: tuple[Column[Entry], ...] = (
    Column("Name", 44, lambda e: e.name, stretch=True),
    Column(
        "Kilobytes",
        10,
        lambda e: "" if e.size_bytes is None else in_digits(e.size_bytes / 1000, ",.1f"),
        lambda e: e.size_bytes,
        right=True,
    ),
    Column(
        "Changed",
        16,
        lambda e: "" if e.changed is None else f"{e.changed:%Y-%m-%d %H:%M}",
        lambda e: e.changed,
    ),
)


class FilesTable(BigTable[Entry]):
    """Files, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "Take", id="files.take", tooltip="Take the file, open the folder"),
        *sort_keys(COLUMNS),
    ]


class FilesPage(ListPage):
    """One folder; Enter takes a file or goes into a folder."""

    FIND_HINT = "words of the name"
    LETTERS_FIND = True

    @dataclass
    class Read(Message):
        """The folder has been looked into; `entries` is nothing where it cannot be."""

        folder: Path
        entries: list[Entry]

    def __init__(self, place: str, folder: Path, endings: frozenset[str] = READABLE) -> None:
        super().__init__()
        self.PLACE = place  # type: ignore[misc]
        self.folder, self.endings = folder, endings

    def table(self) -> BigTable[Entry]:
        """Make the table of files."""
        return FilesTable(COLUMNS, name_of=lambda e: e.name)

    @work(thread=True, exclusive=True, group="files", exit_on_error=False)
    def read(self) -> None:
        """Look into the folder."""
        from panel.errors import IntakeError

        try:
            entries = entries_of(self.folder, self.endings)
        except OSError as error:
            raise IntakeError(f"{self.folder} cannot be looked at: {error.strerror}.") from error
        self.hand_over(self.Read(self.folder, entries))

    def on_files_page_read(self, message: Read) -> None:
        """Show what is in it."""
        self.fill(message.entries)
        self.head(str(message.folder))
        self.say("Enter takes a file or goes into a folder. Escape leaves it as it was.")

    @on(BigTable.Opened)
    def take(self, event: BigTable.Opened) -> None:
        """Go into a folder, or take a file."""
        entry: Entry = event.row
        if entry.is_folder:
            self.folder = entry.path
            self.query_one(FindLine).action_leave()
            self.list.find("")
            self.read()
        else:
            self.dismiss(str(entry.path))

    def action_back(self) -> None:
        """Leave it as it was."""
        if self.list.wanted:
            super().action_back()
        else:
            self.dismiss(None)


class PathSuggester(Suggester):
    """Completes the last part of a path by what lies in its folder; the right arrow takes it."""

    def __init__(self, endings: frozenset[str] = READABLE) -> None:
        super().__init__(use_cache=False, case_sensitive=True)
        self.endings = endings

    async def get_suggestion(self, value: str) -> str | None:
        """Return the first name that goes on as it was begun."""
        before, _, begun = value.rpartition("/")
        folder = Path(f"{before}/" if "/" in value else ".")
        try:
            entries = entries_of(folder.expanduser(), self.endings)
        except (OSError, RuntimeError):
            return None
        found = (e.name for e in entries if e.name != UP and e.name.startswith(begun))
        name = next(found, None) if begun or "/" in value else None
        return None if name is None else value + name[len(begun) :]
