"""The log of faults of our own: where in the program something broke, never what about.

It holds times, versions, the command's name, kinds of error and the places they went through. It
holds no message of an error, no value and no path, for these may tell a score, a PIN, a person or
what a code is; so it can be shown to whoever mends the program.
"""

from __future__ import annotations

import os
import platform
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from traceback import walk_tb
from types import TracebackType

from panel import __version__
from panel.clock import Clock, utc_now

NAMED = "OAKPANEL_LOG"
FILE_MODE, FOLDER_MODE = 0o600, 0o700
LARGEST_BYTES = 200_000
OLDER_KEPT = 2


def log_path() -> Path:
    """Return where the log is: OAKPANEL_LOG, else one file in the user's folder for logs."""
    if named := os.environ.get(NAMED):
        return Path(named).expanduser()
    from platformdirs import user_log_path

    return user_log_path("oakpanel", appauthor=False) / "oakpanel.log"


def told(error: BaseException) -> str:
    """Log a fault of our own, and return what a person reads about it."""
    kind = type(error).__name__
    return f"This did not work, a fault of ours: {kind}: {error}. {logged(error)}"


def logged(error: BaseException) -> str:
    """Log where *error* happened, and return the sentence that says where to look it up."""
    return note([f"fault {kinds(error)}", *(f"  {place}" for place in places(error))])


def note(lines: Sequence[str], *, clock: Clock = utc_now) -> str:
    """Add lines to the log under one time; return the sentence that names the file.

    Lines are written for the log: no text of a person's or of a record's goes into one.
    """
    versions = f"oakpanel {__version__}, Python {platform.python_version()}, {platform.system()}"
    head = f"{clock():%Y-%m-%d %H:%M:%S} UTC, {versions}"
    path = log_path()
    try:
        _append(path, "".join(f"{line}\n" for line in (head, *lines)))
    except OSError as error:
        return f"It could not be written to the log {path}: {error.strerror}."
    return f"Where it happened, without scores, names or codes, stands in {path}."


def kinds(error: BaseException) -> str:
    """Return the kinds of an error and of those that led to it, newest first."""
    return " from ".join(type(one).__qualname__ for one in _chain(error))


def places(error: BaseException) -> Iterator[str]:
    """Give the places an error went through, those of the error that led to it first."""
    for one in reversed(list(_chain(error))):
        yield from _frames(one.__traceback__)


def last_place(error: BaseException) -> str:
    """Return where an error was raised: module and line."""
    passed = list(_frames(error.__traceback__))
    return passed[-1] if passed else "nowhere known"


def _chain(error: BaseException) -> Iterator[BaseException]:
    seen: list[BaseException] = []
    one: BaseException | None = error
    while one is not None and one not in seen:
        seen.append(one)
        yield one
        one = one.__cause__ or one.__context__


def _frames(trace: TracebackType | None) -> Iterator[str]:
    for frame, line in walk_tb(trace):
        module = frame.f_globals.get("__name__", "?")
        yield f"{module}, line {line}, {frame.f_code.co_name}"


def _append(path: Path, text: str) -> None:
    if not path.parent.is_dir():
        path.parent.mkdir(parents=True, mode=FOLDER_MODE)
    if path.exists() and path.stat().st_size > LARGEST_BYTES:
        _make_room(path)
    with open(path, "a", encoding="utf-8", opener=_private) as file:
        file.write(text)


def _make_room(path: Path) -> None:
    """Push older logs one number on; the oldest is overwritten."""
    names = [path, *(path.with_name(f"{path.name}.{n}") for n in range(1, OLDER_KEPT + 1))]
    for newer, older in reversed(list(pairwise(names))):
        if newer.exists():
            newer.replace(older)


def _private(name: str, flags: int) -> int:
    return os.open(name, flags, FILE_MODE)
