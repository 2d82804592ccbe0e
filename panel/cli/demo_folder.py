"""The folder of the demo: made, made again, never where something else lies."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from shutil import copyfile, rmtree
from typing import TYPE_CHECKING

from panel.errors import OakpanelError

if TYPE_CHECKING:
    from panel.store.kept_files import Place

DATABASE = "panel.sqlite"
FILES = "files"
SHEETS = "sheets"
MARK = "this-is-the-demo.txt"
MARK_TEXT = """\
This folder was made by `oakpanel demo`: an invented distillery to try things on.
`oakpanel demo` replaces everything in it; delete it whenever you like.

  panel.sqlite  the database
  files         the plain files it was loaded from
  sheets        pour sheet and tray labels of the evening that was held
"""
OWN = frozenset({DATABASE, f"{DATABASE}-wal", f"{DATABASE}-shm", FILES, SHEETS, MARK})
KINDS = (
    "makes",
    "casks",
    "events",
    "regauges",
    "draws",
    "lexicon",
    "assessors",
    "targets",
    "plans",
    "scores",
)
"""The demo's files, in the order in which an empty database takes them."""


@dataclass(frozen=True)
class DemoFolder:
    """Where the demo lies."""

    path: Path

    @property
    def database(self) -> Path:
        """Return the database's file."""
        return self.path / DATABASE

    def file(self, kind: str) -> Path:
        """Return the plain file of a kind of records."""
        return self.path / FILES / f"{kind}.csv"

    def write_sheet(self, name: str, text: str) -> Path:
        """Keep a sheet of the evening as text that only its owner reads: it holds the key."""
        from panel.session.paper import write_private
        from panel.store.places import FOLDER_MODE

        path = self.path / SHEETS / name
        path.parent.mkdir(mode=FOLDER_MODE, exist_ok=True)
        write_private(path, text.rstrip("\n") + "\n")
        return path


def source_file(name: str) -> Path:
    """Return one of the demo's files as it came with the program."""
    import demo_panel

    return Path(demo_panel.__file__).parent / f"{name}.csv"


def prepare(path: Path) -> DemoFolder:
    """Make the folder, or empty it where an earlier demo made it, and copy the plain files in.

    Raises
    ------
    OakpanelError
        Something else is there, or the place cannot be written. Nothing was touched then.
    """
    _refuse_other_things(path)
    try:
        _clear(path)
        path.mkdir(parents=True, exist_ok=True)
        (path / MARK).write_text(MARK_TEXT, encoding="utf-8")
        folder = DemoFolder(path)
        (path / FILES).mkdir()
        for kind in KINDS:
            copyfile(source_file(kind), folder.file(kind))
    except OSError as error:
        raise OakpanelError(
            f"The demo cannot be written to {path}: {error.strerror}. "
            "Name another folder with --at, or close what still holds a file there."
        ) from error
    return folder


def _refuse_other_things(path: Path) -> None:
    if not path.exists():
        return
    if not path.is_dir():
        raise OakpanelError(f"{path} is a file. Name a folder for the demo with --at DIR.")
    kept = {file.name for file in _kept_beside(path).files()}
    found = {entry.name for entry in path.iterdir()}
    strange = sorted(found - OWN - kept) if MARK in found else sorted(found)
    if strange:
        listed = ", ".join(strange[:3]) + (", ..." if len(strange) > 3 else "")
        raise OakpanelError(
            f"The folder {path} holds other things ({listed}), so the demo leaves it alone. "
            "Name an empty or a new folder with --at DIR."
        )


def _kept_beside(path: Path) -> Place:
    """Return where what was reckoned from an earlier demo is kept: it goes with that demo."""
    from panel.store.engine import locate
    from panel.store.kept_files import place_of

    return place_of(locate(str(path / DATABASE)))


def _clear(path: Path) -> None:
    for file in _kept_beside(path).files():
        file.unlink(missing_ok=True)
    for name in sorted(OWN - {MARK}):
        entry = path / name
        if entry.is_dir():
            rmtree(entry)
        else:
            entry.unlink(missing_ok=True)
