"""Names on record that begin so, for a shell that completes them: read quickly, changed by nothing.

A file is read past the engine, which takes ten times as long to load as the names to read.
"""

from __future__ import annotations

import os
from contextlib import closing
from enum import Enum
from pathlib import Path

MOST = 200
PATIENCE_S = 0.2


class Named(Enum):
    """What has a name: the table and the column that hold it."""

    CASK = ("cask", "number")
    SESSION = ("panel_session", "name")
    TARGET = ("target", "name")
    RELEASE = ("release", "name")
    PERSON = ("person", "code")
    DESCRIPTOR = ("descriptor", "name")
    PLAN = ("stock_plan", "name")


def names_of(kind: Named, begins: str, option: str | None) -> list[str]:
    """Return names on record that begin so, the first of the alphabet, at most so many.

    Nothing that stands in the way is told: whoever presses a key in a shell did not ask.
    """
    named = option or os.environ.get("OAKPANEL_DB") or _usual()
    try:
        return _on_server(kind, begins, named) if "://" in named else _in_file(kind, begins, named)
    except Exception:  # noqa: BLE001 - there is nobody to tell it to
        return []


def _in_file(kind: Named, begins: str, named: str) -> list[str]:
    import sqlite3

    place = Path(named).expanduser().resolve()
    uri = f"{place.as_uri()}?mode=ro"
    with closing(sqlite3.connect(uri, uri=True, timeout=PATIENCE_S)) as db:
        found = db.execute(_asked(kind, "?", "?"), (len(begins), begins)).fetchall()
    return [str(name) for (name,) in found]


def _on_server(kind: Named, begins: str, named: str) -> list[str]:
    from sqlalchemy import text

    from panel.store.opening import open_store

    with closing(open_store(named, readonly=True)) as store, store.read() as db:
        asked = text(_asked(kind, ":length", ":begins"))
        found = db.execute(asked, {"length": len(begins), "begins": begins})
        return [str(name) for (name,) in found]


def _asked(kind: Named, length: str, begins: str) -> str:
    table, column = kind.value
    return (
        f"SELECT {column} FROM {table} WHERE substr({column}, 1, {length}) = {begins} "
        f"ORDER BY {column} LIMIT {MOST}"
    )


def _usual() -> str:
    from platformdirs import user_data_path

    return str(user_data_path("oakpanel", appauthor=False) / "oakpanel.sqlite")
