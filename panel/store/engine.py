"""The one way to open a database: SQLite by default, PostgreSQL by URL, through the same code."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError
from sqlalchemy.orm import Session

from panel.errors import NoDatabase, StoreError
from panel.store.faults import explain
from panel.store.log import tell_the_rest
from panel.store.places import reading_mode
from panel.store.seen import note_head
from panel.store.touched import WritingSession

__all__ = [
    "BUSY_TIMEOUT_MS",
    "Session",
    "Store",
    "connect",
    "default_url",
    "explained",
    "locate",
    "sqlite_module",
    "url_of",
]

BUSY_TIMEOUT_MS = 15_000
CONNECT_TIMEOUT_S = 10
ALIVE: Mapping[str, int] = {"keepalives_idle": 15, "keepalives_interval": 5, "keepalives_count": 3}
"""A line to a server that went silent is known as gone within half a minute, not two hours."""
WRITES = "oakpanel_writes"
URL_OF = "oakpanel_url"


def default_url() -> str:
    """Return the URL of the one file in the user's data folder."""
    from platformdirs import user_data_path

    return f"sqlite:///{user_data_path('oakpanel', appauthor=False) / 'oakpanel.sqlite'}"


def locate(option: str | None) -> URL:
    """Return the database that was named: the option, else OAKPANEL_DB, else the default file."""
    named = option or os.environ.get("OAKPANEL_DB") or default_url()
    if "://" not in named:
        return URL.create("sqlite", database=str(Path(named).expanduser()))
    return _known_url(named)


def _known_url(named: str) -> URL:
    try:
        url = make_url(named)
    except ArgumentError:
        raise NoDatabase(f"{named!r} is neither a file nor a database URL.") from None
    if url.drivername in {"postgresql", "postgres", "postgresql+psycopg"}:
        return url.set(drivername="postgresql+psycopg")
    if url.drivername != "sqlite":
        raise NoDatabase(
            f"{url.drivername!r} is not used here; name a file or a postgresql:// URL."
        )
    if url.database in {None, "", ":memory:"}:
        raise NoDatabase("A database in memory would be lost at the end; name a file.")
    return url


def sqlite_module() -> Any:
    """Return pysqlite3 where it is installed (a newer SQLite), else the standard library's."""
    try:
        import pysqlite3.dbapi2 as module
    except ImportError:
        import sqlite3 as module
    return module


@dataclass(frozen=True)
class Store:
    """An open database. Short reads and short writes; nothing holds it between the two."""

    url: URL
    engine: Engine
    wrote: set[str] = field(default_factory=set, repr=False, compare=False)
    """Holds a word once something was written: then the log's head is kept at the end."""

    @contextmanager
    def read(self) -> Iterator[Session]:
        """Give a session for reading; what it changes is rolled back.

        Records read in it keep their loaded values afterwards.
        """
        with self._session(writes=False) as db:
            yield db

    @contextmanager
    def write(self) -> Iterator[Session]:
        """Give a session that holds the write lock from its first statement and commits at the end.

        Raises
        ------
        StoreError
            Locked, read-only, full, damaged: in words. Nothing was written then.
        """
        with self._session(writes=True) as db:
            yield db
            tell_the_rest(db)
            db.commit()
            self.wrote.add("log")

    @contextmanager
    def _session(self, *, writes: bool) -> Iterator[Session]:
        with explained(self.url), self.engine.connect() as connection:
            marked = connection.execution_options(**{WRITES: writes})
            kind = WritingSession if writes else Session
            with kind(marked, expire_on_commit=False, info={URL_OF: self.url}) as db:
                yield db

    def close(self) -> None:
        """Give all connections back, and keep the head of the log where something was written."""
        if self.wrote and self._is_there():
            self.note_head()
            self.wrote.clear()
        self.engine.dispose()

    def note_head(self, *, anew: bool = False) -> None:
        """Keep the head of the log as the last that this account saw (see `panel.store.seen`)."""
        with suppress(StoreError), self.read() as db:
            note_head(db, self.url, anew=anew)

    def _is_there(self) -> bool:
        return self.url.get_backend_name() != "sqlite" or Path(self.url.database or "").exists()


def url_of(db: Session) -> URL | None:
    """Return which database a session of a store reads; None for any other session."""
    return db.info.get(URL_OF)


def only_reads(db: Session) -> bool:
    """Return whether this is a store's session for reading, in which records stand still."""
    return db.connection().get_execution_options().get(WRITES) is False


@contextmanager
def explained(url: URL) -> Iterator[None]:
    """Turn what a driver says into a sentence of ours."""
    try:
        yield
    except DBAPIError as error:
        raise explain(error, url) from error


def connect(url: URL, *, readonly: bool = False) -> Store:
    """Open *url* without looking whether its tables are there (see `panel.store.opening`)."""
    if url.get_backend_name() == "sqlite":
        return Store(url, _sqlite_engine(url, readonly=readonly))
    return Store(url, _server_engine(url, readonly=readonly))


def _server_engine(url: URL, *, readonly: bool) -> Engine:
    settings: dict[str, str | int] = {
        "connect_timeout": CONNECT_TIMEOUT_S,
        **ALIVE,
        **_plain(url.query),
    }
    # What the URL itself asks comes last, and wins.
    options = f"-c lock_timeout={BUSY_TIMEOUT_MS} {settings.get('options', '')}".strip()
    settings["options"] = f"{options} -c default_transaction_read_only=on" if readonly else options
    try:
        return create_engine(url, pool_pre_ping=True, connect_args=settings)
    except ModuleNotFoundError:
        raise NoDatabase(
            "PostgreSQL needs its driver: install with `pip install 'oakpanel[postgres]'`."
        ) from None


def _plain(query: Mapping[str, Sequence[str] | str]) -> dict[str, str]:
    return {name: value for name, value in query.items() if isinstance(value, str)}


def _sqlite_engine(url: URL, *, readonly: bool) -> Engine:
    if readonly:
        path = Path(url.database or "").absolute()
        query = {**reading_mode(path), "uri": "true"}
        url = URL.create("sqlite", database=path.as_uri(), query=query)
    engine = create_engine(url, module=sqlite_module(), connect_args={"isolation_level": None})
    event.listen(engine, "connect", _prepare_sqlite if not readonly else _prepare_readonly)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(dbapi_connection: Any, _record: object) -> None:
    cursor = dbapi_connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout={BUSY_TIMEOUT_MS}")
    cursor.execute("PRAGMA journal_mode=WAL")
    cursor.execute("PRAGMA synchronous=FULL")
    cursor.execute("PRAGMA foreign_keys=ON")
    cursor.execute("PRAGMA secure_delete=ON")  # what is deleted is overwritten, not only forgotten
    cursor.close()


def _prepare_readonly(dbapi_connection: Any, _record: object) -> None:
    cursor = dbapi_connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout={BUSY_TIMEOUT_MS}")
    cursor.execute("PRAGMA query_only=ON")
    cursor.close()


def _begin_sqlite(connection: Connection) -> None:
    # A plain BEGIN that reads first and writes later fails at once under other writers.
    writes = connection.get_execution_options().get(WRITES, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
