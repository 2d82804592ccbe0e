"""Steps of a test house that are taken once and copied from then on.

The same step on the same file gives the same file. So what a step made of a database is kept as
bytes, by the step and by what the file held before, and laid down where the step is taken again:
building the small house of the desk's tests takes a fifth of a second, copying it a thousandth.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from hashlib import sha256
from pathlib import Path
from typing import Any, Concatenate, ParamSpec

import pytest
from sqlalchemy import QueuePool

from analysis import ageing
from panel.kept.form import NotKeptError, digest_of_value
from panel.store.engine import Store
from panel.store.opening import file_of
from panel.store.places import FILE_MODE

P = ParamSpec("P")
Step = Callable[Concatenate[Store, P], None]

MADE: dict[tuple[object, ...], bytes] = {}


def kept(step: Step[P]) -> Step[P]:
    """Take a step once for each database that it finds, and copy what came of it afterwards."""

    @wraps(step)
    def taken(store: Store, /, *given: P.args, **options: P.kwargs) -> None:
        before = _at_rest(store)
        if before is None:
            step(store, *given, **options)
            return
        found = (step.__module__, step.__qualname__, repr(given), repr(sorted(options.items())))
        key = (*found, sha256(before.read_bytes()).digest())
        if key in MADE:
            before.write_bytes(MADE[key])
            return
        step(store, *given, **options)
        if (after := _at_rest(store)) is not None:
            MADE[key] = after.read_bytes()

    return taken


def _at_rest(store: Store) -> Path | None:
    """The file of a database that nobody works on; None where it cannot be copied as a file."""
    pool = store.engine.pool
    if store.engine.dialect.name != "sqlite" or not isinstance(pool, QueuePool):
        return None
    if pool.checkedout():
        return None
    store.engine.dispose()
    path = file_of(store.url)
    # Whoever else has it open, in this process or another, keeps one of these beside it.
    beside = (path.with_name(path.name + end) for end in ("-wal", "-shm", "-journal"))
    return None if any(each.exists() for each in beside) else path


SHELF: dict[str, bytes] = {}
"""What was reckoned in houses of tests and kept beside them, by the name of the file."""


def lay_kept(folder: Path) -> None:
    """Lay down what was reckoned before in houses like it: a key tells whether it holds."""
    for name, content in SHELF.items():
        path = folder / name
        path.write_bytes(content)
        path.chmod(FILE_MODE)


def take_kept(folder: Path) -> None:
    """Keep for later houses what was reckoned in this one."""
    for path in folder.glob("panel.sqlite-kept-*"):
        if path.name not in SHELF and "-heads-" not in path.name and "-lock" not in path.name:
            SHELF[path.name] = path.read_bytes()


ON_DAYS: dict[str, Any] = {}
"""Notes that were moved to a day, by a digest of all that they were moved from."""


def remember_days(patch: pytest.MonkeyPatch) -> None:
    """Move the same notes of the same casks to the same day once, whichever house asks.

    That it gives the same each time is held where it is tried, in tests/analysis/ageing.
    """
    move: Callable[..., Any] = ageing.notes_on_day

    def moved(*given: Any, search: Any = None, **options: Any) -> Any:
        searching = {} if search is None else {"search": search}
        try:
            key = digest_of_value([*given, sorted(options.items())])
        except NotKeptError:
            return move(*given, **options, **searching)
        if key not in ON_DAYS:
            ON_DAYS[key] = move(*given, **options, **searching)
        return ON_DAYS[key]

    patch.setattr(ageing, "notes_on_day", moved)
