"""Which kind each file of a folder is: by its name, else by its headings where one kind fits."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from panel.errors import IntakeError
from panel.intake.columns import plain_heading, strange_headings
from panel.intake.folder import ENDINGS, KindFile
from panel.intake.headings import Finder
from panel.intake.kinds import LAID, Kind
from panel.intake.loading import columns_of, finder
from panel.intake.reading import read_bytes, read_table
from panel.intake.said import Said
from panel.intake.table import Marks, Table
from panel.unswept import unswept

if TYPE_CHECKING:
    from panel.store.engine import Store

ALSO = {"people": Kind.ASSESSORS}
"""Other names under which a house keeps a kind."""
NAMED: Mapping[str, Kind] = {**{kind.value: kind for kind in Kind}, **ALSO}
HIDDEN = (".", "~$")
"""How files begin that an editor or a spreadsheet lays beside the one that is open."""


@dataclass(frozen=True)
class FolderFile:
    """A file of a folder, and the kind that it seems to be; None leaves it out."""

    path: Path
    kind: Kind | None = None
    sure: bool = False
    """Whether its name says the kind, or that it is none; else somebody has to look at it."""


def folder_files(store: Store, folder: Path) -> tuple[FolderFile, ...]:
    """Return the tables of a folder, each with the kind that it seems to be.

    One that is called after a kind is of it; where a kind has both, CSV goes before Excel. Of the
    others the headings are looked at.

    Raises
    ------
    OSError
        The folder cannot be looked into.
    """
    paths = sorted(path for path in folder.iterdir() if is_table(path))
    named = {path: NAMED.get(_stem(path)) for path in paths}
    taken: set[Kind] = set()
    files = []
    for path in sorted(paths, key=lambda path: ENDINGS.index(path.suffix.casefold())):
        kind = named[path]
        if kind is not None:
            files.append(FolderFile(path, None if kind in taken else kind, sure=True))
            taken.add(kind)
        elif _stem(path) in LAID:
            files.append(FolderFile(path, sure=True))
        else:
            files.append(FolderFile(path, _guessed(store, path)))
    return tuple(sorted(files, key=lambda file: file.path))


def is_table(path: Path) -> bool:
    """Tell whether a file may be one to bring in."""
    return path.suffix.casefold() in ENDINGS and not path.name.startswith(HIDDEN) and path.is_file()


def in_their_order(kinds: Mapping[Path, Kind | None]) -> tuple[KindFile, ...]:
    """Return the files that are brought in, as an empty database takes them."""
    files = [KindFile(kind, path) for path, kind in kinds.items() if kind is not None]
    return tuple(sorted(files, key=lambda file: (tuple(Kind).index(file.kind), file.path)))


def _stem(path: Path) -> str:
    return path.stem.casefold()


def _guessed(store: Store, path: Path) -> Kind | None:
    """Return the one kind that a file's name holds, or that its headings fit."""
    words = set(re.split(r"[^\w]|_|[0-9]", _stem(path)))
    held = [kind for name, kind in NAMED.items() if words.issuperset(name.split("-"))]
    held = [kind for kind in held if kind is not Kind.SCORES or Kind.OWN_SCORES not in held]
    return held[0] if len(held) == 1 else kind_by_headings(store, path)


def kind_by_headings(store: Store, path: Path) -> Kind | None:
    """Return the one kind that the headings of a file fit, None where none or several do."""
    with store.read() as db, unswept():
        finders = {kind: finder(db, kind, Said()) for kind in Kind}
    find = _AnyKind(lambda _cells: columns_of(Kind.SCORES), finders=finders)
    try:
        read_table(read_bytes(path), path.name, Kind.MAKES, find)
    except IntakeError:
        return None
    return find.fitting()


@dataclass(frozen=True)
class _AnyKind(Finder):
    """Finds the headings of whichever kind; what it was shown is looked at by each."""

    finders: Mapping[Kind, Finder] = field(default_factory=dict)
    shown: list[Sequence[tuple[int, Sequence[str]]]] = field(default_factory=list)

    def holds(self, cells: Sequence[str]) -> bool:
        """Whether a row holds what any kind must have."""
        return any(find.holds(cells) for find in self.finders.values())

    def expected(self) -> Collection[str]:
        """Return the headings of all kinds."""
        return {heading for find in self.finders.values() for heading in find.expected()}

    def place_of(self, rows: Sequence[tuple[int, Sequence[str]]]) -> int:
        """Keep the first rows for `fitting`."""
        self.shown.append(rows)
        return super().place_of(rows)

    def fitting(self) -> Kind | None:
        """Return the one kind all of whose headings are there; better if no other is."""
        fit = [(kind, strange) for kind in Kind if (strange := self._strangers(kind)) is not None]
        whole = [kind for kind, strange in fit if not strange]
        kinds = whole or [kind for kind, _ in fit]
        return kinds[0] if len(kinds) == 1 else None

    def _strangers(self, kind: Kind) -> int | None:
        """Return how many headings the kind does not know, None where it lacks some."""
        find = self.finders[kind]
        for rows in self.shown:
            cells = rows[find.place_of(rows)][1] if rows else ()
            if find.holds(cells):
                ours = tuple(map(plain_heading, find.ours(cells)))
                table = Table("", ours, 0, [], Marks.POINT)
                return len(list(strange_headings(table, columns_of(kind, ours))))
        return None
