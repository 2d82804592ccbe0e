"""Files that keep what was reckoned, for the next command: whole, private, and gone when asked.

They lie beside a SQLite file: whoever may write the database may delete them, whichever account
made them, so that an erasure leaves none behind. Those of a server's database lie in the folder
of the account that made them, and each account drops its own as soon as it sees that somebody was
erased. A name says whose the file is, of which state of house and program (`Shelf.edition`), and
what is in it; whatever is of another edition goes unopened.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from stat import S_ISREG
from typing import Any

from sqlalchemy.engine import URL

from panel.fault_log import note
from panel.store.places import FILE_MODE, FOLDER_MODE
from panel.store.seen import own_file

locks: Any = None
"""How files are locked; None where the system has no such locks: two commands reckon the same."""
with suppress(ImportError):
    import fcntl as locks

BEGINS = b"oakpanel kept 1\n"
MOST_BYTES = 500 * 2**20
MOST_FITS, MOST_ANSWERS = 3, 120
FIT = "fit"
LOCK = "lock"
OTHERS_MAY_READ = 0o077
PATIENCE_S = 600.0
BETWEEN_S = 0.05


@dataclass(frozen=True)
class Place:
    """Where the files of one database lie, and how all their names begin."""

    folder: Path
    prefix: str

    def files(self) -> list[Path]:
        """Return all of them, of every account, half-written ones too."""
        begins = (self.prefix, f".{self.prefix}")
        try:
            found = [each for each in self.folder.iterdir() if each.name.startswith(begins)]
        except OSError:
            return []
        return sorted(found)


def place_of(url: URL) -> Place:
    """Return where what is reckoned from a database is kept."""
    if url.get_backend_name() == "sqlite":
        path = Path(url.database or "").resolve()
        return Place(path.parent, f"{path.name}-kept-")
    path = own_file(url, "kept")
    return Place(path.parent, f"{path.name}-kept-")


def drop_kept(url: URL) -> tuple[Path, ...]:
    """Delete all that is kept of a database; return the files that this account may not delete."""
    place = place_of(url)
    for file in place.files():
        _unlink(file)
    return tuple(place.files())


@dataclass(frozen=True)
class Shelf:
    """The kept files of one database, as one account at one state of house and program sees them.

    Attributes
    ----------
    place
        Where they lie.
    edition
        Of the house, who was erased from it, and the program with what it reckons by.
    """

    place: Place
    edition: str

    def read(self, kind: str, key: str) -> bytes | None:
        """Return what was kept under a key; None where nothing, or nothing that can be trusted."""
        path = self._file(kind, key)
        try:
            found = _read_own(path)
        except FileNotFoundError:
            return None
        except OSError as error:
            _tell("could not be read", error)
            return None
        if found is None:
            self.drop(kind, key)
            return None
        with suppress(OSError):
            os.utime(path)
        return found

    def write(self, kind: str, key: str, content: bytes) -> bool:
        """Keep something, whole or not at all; say whether it could be kept."""
        if len(content) > MOST_BYTES:
            return False
        path = self._file(kind, key)
        try:
            _write_whole(path, BEGINS + sha256(content).hexdigest().encode() + b"\n" + content)
        except PermissionError:
            return False  # who may only look at the database keeps nothing beside it
        except OSError as error:
            _tell("could not be written", error)
            return False
        self.tidy()
        return True

    def keys(self, kind: str) -> list[str]:
        """Return the keys under which this account keeps answers of a kind, last used first."""
        begins = self._file(kind, "").name
        found = [each for each in self.place.files() if each.name.startswith(begins)]
        return [
            each.name.removeprefix(begins) for each in sorted(found, key=_used_at, reverse=True)
        ]

    def drop(self, kind: str, key: str) -> None:
        """Delete one that is damaged or not ours; the log of faults says that it was."""
        _tell("was damaged or not ours, and is reckoned anew")
        with suppress(OSError):
            self._file(kind, key).unlink(missing_ok=True)

    def tidy(self) -> None:
        """Delete what is of another edition, all but the last used, and the oldest of too much."""
        kept, size, left = [], 0, {True: MOST_FITS, False: MOST_ANSWERS}
        for file in self.place.files():
            if file.name.startswith("."):
                continue
            parts = file.name.removeprefix(self.place.prefix).split("-")
            if len(parts) < 3 or parts[1] != self.edition:
                _unlink(file)
            elif parts[2] != LOCK:
                kept.append((file, parts[2]))
        for file, kind in sorted(kept, key=lambda each: _used_at(each[0]), reverse=True):
            left[kind == FIT] -= 1
            size += _size(file)
            if size > MOST_BYTES or left[kind == FIT] < 0:
                _unlink(file)

    @contextmanager
    def alone(self, kind: str, key: str) -> Iterator[bool]:
        """Let one process at a time reckon what is kept under a key; others wait for it.

        The system gives the lock of a dead process to the next. False where none can be had:
        the folder may not be written, or the other one takes too long.
        """
        path = self._file(LOCK, f"{kind}-{key}")
        number = _locked(path)
        try:
            yield number is not None
        finally:
            if number is not None:
                _unlink(path)
                os.close(number)

    def _file(self, kind: str, key: str) -> Path:
        who = os.getuid() if hasattr(os, "getuid") else 0
        return self.place.folder / f"{self.place.prefix}{who}-{self.edition}-{kind}-{key}"


def _read_own(path: Path) -> bytes | None:
    """Return the content of a whole file that this account alone may read; None of any other."""
    number = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0))
    with open(number, "rb") as file:
        about = os.fstat(number)
        ours = not hasattr(os, "getuid") or about.st_uid == os.getuid()
        private = S_ISREG(about.st_mode) and not about.st_mode & OTHERS_MAY_READ
        if not (ours and private and about.st_size <= 2 * MOST_BYTES):
            return None
        head, digest = file.readline(80), file.readline(80)
        content = file.read()
    whole = digest.strip() == sha256(content).hexdigest().encode()
    return content if head == BEGINS and whole else None


def _write_whole(path: Path, content: bytes) -> None:
    """Write a new private file beside the place, to the disk, and give it the name."""
    _make_folder(path.parent)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    part.unlink(missing_ok=True)
    try:
        number = os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, FILE_MODE)
        with open(number, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(number)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def _make_folder(folder: Path) -> None:
    for each in (folder.parent, folder):
        each.mkdir(mode=FOLDER_MODE, parents=True, exist_ok=True)


def _locked(path: Path) -> int | None:
    """Return the open lock file; None where it cannot be had."""
    end = time.monotonic() + PATIENCE_S
    while locks is not None and time.monotonic() < end:
        try:
            _make_folder(path.parent)
            number = os.open(path, os.O_CREAT | os.O_RDWR, FILE_MODE)
        except OSError:
            return None
        if _took(number, path):
            return number
        os.close(number)
        time.sleep(BETWEEN_S)
    return None


def _took(number: int, path: Path) -> bool:
    """Say whether the lock is ours now, and is still the file of that name."""
    try:
        locks.flock(number, locks.LOCK_EX | locks.LOCK_NB)
        return os.fstat(number).st_ino == path.stat().st_ino
    except OSError:
        return False


def _used_at(file: Path) -> float:
    try:
        return file.stat().st_mtime
    except OSError:
        return 0.0


def _size(file: Path) -> int:
    try:
        return file.stat().st_size
    except OSError:
        return 0


def _unlink(file: Path) -> None:
    with suppress(OSError):
        file.unlink(missing_ok=True)


def _tell(what: str, error: OSError | None = None) -> None:
    """Tell the log of faults, never the user: the answer is the same, only later."""
    why = "" if error is None else f": {error.strerror}"
    note([f"kept answer {what}{why}"])
