"""Opening a database after a look at it: there, ours, of this version; else why not, in words.

Only the revision's own small table is read, so that an up-to-date database opens without loading
the migrations.
"""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from stat import S_ISDIR

from sqlalchemy import Connection, inspect, text
from sqlalchemy.engine import URL

from panel.errors import NewerDatabase, NoDatabase, NotADatabase, OlderDatabase, StoreError
from panel.store import engine
from panel.store.engine import Store, connect, locate, sqlite_module
from panel.store.faults import in_words, shown
from panel.store.places import may_write, new_private_file, reading_mode, refuse_network
from panel.store.revisions import HEAD, REVISION_TABLE, REVISIONS, STANDING
from panel.store.seen import forget_head

HOW_TO_START = "Start one with `oakpanel db init`, or look around first with `oakpanel demo`."


def open_store(named: str | None, *, readonly: bool = False) -> Store:
    """Open the database that was named.

    A file or folder that may only be read opens for reading; a write then raises DatabaseReadOnly.

    Raises
    ------
    NoDatabase, NotADatabase, OlderDatabase, NewerDatabase, NetworkShare, DatabaseLocked
        It cannot be used; the sentence says why and what to do.
    """
    url = locate(named)
    check_revision(find_revision(url), url)
    if url.get_backend_name() == "sqlite":
        readonly = readonly or not may_write(file_of(url))
    store = connect(url, readonly=readonly)
    store.note_head()
    return store


def make_database(named: str | None) -> Store:
    """Make a new database with all tables, in one transaction, and open it.

    Raises
    ------
    StoreError
        Something is there already (it is left alone), or the place cannot be used.
    """
    url = locate(named)
    if url.get_backend_name() == "sqlite":
        _claim_file(file_of(url), url)
    store = connect(url)
    forget_head(url)
    try:
        _make_tables(store)
    except StoreError:
        store.close()
        raise
    return store


def _make_tables(store: Store) -> None:
    from panel.store.booth_rules import FUNCTIONS, POLICIES
    from panel.store.migrations.server_rules import make_rules
    from panel.store.tables import METADATA

    with store.write() as db:
        connection = db.connection()
        if found := inspect(connection).get_table_names():
            raise _occupied(store.url, set(found))
        METADATA.create_all(connection)
        stamp(connection)
        if connection.dialect.name == "postgresql":
            make_rules(connection, POLICIES, FUNCTIONS)


def stamp(connection: Connection) -> None:
    """Write this version's revision into a database that has just got all its tables."""
    connection.execute(
        text(
            f"CREATE TABLE {REVISION_TABLE} (version_num VARCHAR(32) NOT NULL, "
            f"CONSTRAINT {REVISION_TABLE}_pkc PRIMARY KEY (version_num))"
        )
    )
    connection.execute(text(f"INSERT INTO {REVISION_TABLE} VALUES (:head)"), {"head": HEAD})


def file_of(url: URL) -> Path:
    """Return the file of a SQLite database."""
    return Path(url.database or "").absolute()


def find_revision(url: URL) -> str:
    """Return the revision that the database at *url* stands at, whether or not we know it.

    Raises
    ------
    NoDatabase, NotADatabase, NetworkShare, DatabaseLocked
        There is none, or it is not one of ours.
    """
    if url.get_backend_name() == "sqlite":
        return _look_into_file(file_of(url), url)
    store = connect(url, readonly=True)
    try:
        with store.read() as db:
            look = inspect(db.connection())
            # A booths' own user sees views of the tables, under the same names.
            _refuse_foreign({*look.get_table_names(), *look.get_view_names()}, url)
            return str(db.scalar(STANDING))
    finally:
        store.close()


def check_revision(revision: str, url: URL) -> None:
    """Raise OlderDatabase or NewerDatabase where this version cannot work with *revision*."""
    if revision == HEAD:
        return
    if revision in REVISIONS:
        raise OlderDatabase(
            f"The database {shown(url)} was made by an older Oakpanel (tables {revision}, "
            f"this one uses {HEAD}). Run `oakpanel db upgrade`; it keeps a backup first."
        )
    raise NewerDatabase(
        f"The database {shown(url)} was made by a newer Oakpanel (tables {revision}, this one "
        f"knows up to {HEAD}). Nothing was changed. Install the newer version on this machine."
    )


def _look_into_file(path: Path, url: URL) -> str:
    _refuse_absent(path)
    refuse_network(path)
    module = sqlite_module()
    query = "&".join(f"{key}={value}" for key, value in reading_mode(path).items())
    seconds = engine.BUSY_TIMEOUT_MS / 1000
    try:
        with closing(module.connect(f"{path.as_uri()}?{query}", uri=True, timeout=seconds)) as raw:
            listed = raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
            _refuse_foreign({row[0] for row in listed}, url)
            row = raw.execute(str(STANDING)).fetchone()
            return str(row[0]) if row else "none"
    except module.Error as error:
        raise in_words(str(error), url) from error


def _refuse_absent(path: Path) -> None:
    try:
        kind = path.stat().st_mode
    except (FileNotFoundError, NotADirectoryError):
        raise NoDatabase(f"There is no database at {path}. {HOW_TO_START}") from None
    except OSError as error:
        raise NoDatabase(f"{path} cannot be looked at: {error.strerror}.") from error
    if S_ISDIR(kind):
        raise NotADatabase(f"{path} is a folder. Name the database file in it.")


def _refuse_foreign(tables: set[str], url: URL) -> None:
    if REVISION_TABLE in tables:
        return
    if not tables:
        raise NoDatabase(f"The database {shown(url)} is empty. {HOW_TO_START}")
    raise NotADatabase(
        f"The database {shown(url)} belongs to another program. Nothing was changed. "
        f"Name another one with --db. {HOW_TO_START}"
    )


def _claim_file(path: Path, url: URL) -> None:
    refuse_network(path.parent)
    try:
        new_private_file(path)
    except FileExistsError:
        try:
            _look_into_file(path, url)
        except NoDatabase:
            return
        raise _occupied(url, {REVISION_TABLE}) from None
    except OSError as error:
        raise StoreError(f"No database can be made at {path}: {error.strerror}.") from error


def _occupied(url: URL, tables: set[str]) -> StoreError:
    if REVISION_TABLE in tables:
        return StoreError(f"There is an Oakpanel database at {shown(url)} already; it stays as is.")
    return NotADatabase(
        f"The database {shown(url)} holds tables of another program; make a database of its own "
        "for Oakpanel."
    )
