"""Bringing a database up to this version's tables, after a backup, all or nothing."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING

from sqlalchemy import Connection, inspect, text
from sqlalchemy.engine import URL

from panel.clock import utc_now
from panel.errors import SessionsOpen, StoreError
from panel.figures import in_digits
from panel.store.backup import back_up_file
from panel.store.booth_role import booth_users
from panel.store.engine import WRITES, Store, connect, explained, locate
from panel.store.faults import shown
from panel.store.kept_files import drop_kept
from panel.store.log import HEADS, append_entry
from panel.store.opening import check_revision, file_of, find_revision
from panel.store.revisions import HEAD, REVISION_TABLE, REVISIONS
from panel.store.shape_check import whole_tables
from panel.store.stopped_view import mend_view

if TYPE_CHECKING:
    from alembic.config import Config

BY = "upgrade"
"""Who changes a setting where no person does: it stands in the log."""
NAMED = 12
"""Fillings that a sentence names at the most; JSON names all."""
VIEW_MADE_ANEW = (
    "Its view of stopped glasses was not that of this program and was made anew. Where booths have "
    "a user of their own, run `oakpanel db booth-role NAME` for it."
)
OURS = text(
    "SELECT pg_has_role(c.relowner, 'USAGE') FROM pg_class c JOIN pg_namespace n "
    "ON n.oid = c.relnamespace WHERE c.relname = 'draw_stop' AND n.nspname = current_schema()"
)
"""Whether the tables are those of whoever asks: a user of booths finds its views in their place."""
VERSIONS = Path(__file__).parent / "migrations" / "versions"


@dataclass(frozen=True)
class LoweredCap:
    """A cap on ethanol that stood above what any house may set, grams."""

    name: str
    before: float
    now: float


@dataclass(frozen=True)
class Upgrade:
    """What an upgrade did; `backup` is empty on a server or where nothing was to do."""

    database: str
    before: str
    after: str
    backup: Path | None
    lowered: tuple[LoweredCap, ...] = ()
    topped_from_nowhere: tuple[str, ...] = ()
    """Fillings topped with spirit whose origin nobody wrote down: they have no age on record."""
    booth_users: tuple[str, ...] = ()
    """Users of booths on a server whose rights a revision took, to be given anew."""
    view_made_anew: bool = False
    """On a server the view of stopped glasses was that of an earlier program, tables or no."""

    json_keys = (
        *("database", "changed", ("before", "revision_before"), ("after", "revision")),
        *("backup", "lowered", "topped_from_nowhere", "booth_users", "view_made_anew"),
    )

    @property
    def changed(self) -> bool:
        """Whether there was anything to do."""
        return self.before != self.after or self.view_made_anew

    def sentence(self) -> str:
        """Return what was done, as a person reads it."""
        if self.before == self.after and self.view_made_anew:
            return f"{self.database} is up to date (tables {self.after}). {VIEW_MADE_ANEW}"
        if self.before == self.after:
            return f"{self.database} is up to date (tables {self.after}); nothing was changed."
        kept = f" As it was before: {self.backup}." if self.backup else ""
        caps = "".join(
            f" {cap.name} was {in_digits(cap.before, 'g')} g and is "
            f"{in_digits(cap.now, 'g')} g now: no cap on ethanol may be "
            "higher."
            for cap in self.lowered
        )
        return (
            f"{self.database} now has tables {self.after} (before: {self.before})."
            f"{kept}{caps}{self._topped()}{self._users()}"
        )

    def _users(self) -> str:
        if not self.booth_users:
            return ""
        again = " and ".join(f"`oakpanel db booth-role {name}`" for name in self.booth_users)
        return f" No booth signs in as its own user until you run {again}: it gives the new rights."

    def _topped(self) -> str:
        if not self.topped_from_nowhere:
            return ""
        named = ", ".join(self.topped_from_nowhere[:NAMED])
        more = len(self.topped_from_nowhere) - NAMED
        return (
            f" Topped with spirit of no record, so that their age is not on record: {named}"
            f"{f' and {more} more' if more > 0 else ''}. Load the toppings again with their parent "
            "and they have one (`oakpanel save events FILE` writes them)."
        )


def upgrade_database(named: str | None, *, now: datetime) -> Upgrade:
    """Bring the database that was named up to this version's tables.

    Raises
    ------
    StoreError
        There is none, it is newer, a session is open, or a revision failed (then it is as it was).
    """
    url = locate(named)
    before = find_revision(url)
    if before == HEAD:
        return Upgrade(shown(url), before, before, None, view_made_anew=_view_mended(url))
    if before not in REVISIONS:
        check_revision(before, url)
    _look_for_open_sessions(url)
    backup = _backup_first(url, before, now)
    caps, users = _stored_caps(url), booth_users(url)
    migrate(url)
    drop_kept(url)
    facts = (_lowered(url, caps, now), _topped_from_nowhere(url))
    without = tuple(sorted(users - booth_users(url)))
    return Upgrade(shown(url), before, HEAD, backup, *facts, without)


def _view_mended(url: URL) -> bool:
    if url.get_backend_name() == "sqlite":
        return False
    store = connect(url)
    try:
        with store.write() as db:
            return bool(db.scalar(OURS)) and mend_view(db.connection())
    finally:
        store.close()


def _topped_from_nowhere(url: URL) -> tuple[str, ...]:
    """Return fillings, not emptied, that were topped and nobody said from which; by plain words."""
    asked = text(
        "SELECT DISTINCT f.label FROM filling f JOIN filling_event e ON e.filling_id = f.id "
        "WHERE e.kind = 'topped' AND e.parent_filling_id IS NULL AND NOT EXISTS (SELECT 1 FROM "
        "filling_event g WHERE g.filling_id = f.id AND g.kind = 'emptied' AND g.id NOT IN (SELECT "
        "event_id FROM event_reversal)) AND e.id NOT IN (SELECT event_id FROM event_reversal) "
        "ORDER BY f.label"
    )
    store = connect(url, readonly=True)
    try:
        with store.read() as db:
            return tuple(str(label) for label in db.connection().execute(asked).scalars())
    finally:
        store.close()


def _stored_caps(url: URL) -> dict[str, float]:
    """Return the caps on ethanol that a house has set; by plain words, as the tables may be old."""
    store = connect(url, readonly=True)
    asked = text("SELECT name, value FROM house_setting WHERE name LIKE 'dose%'")
    try:
        with store.read() as db:
            return {name: float(value) for name, value in db.connection().execute(asked)}
    finally:
        store.close()


def _lowered(url: URL, before: dict[str, float], now: datetime) -> tuple[LoweredCap, ...]:
    """Return the caps that a revision has lowered, each with an entry in the log."""
    after = _stored_caps(url)
    caps = [LoweredCap(name, was, after[name]) for name, was in before.items()]
    lowered = tuple(cap for cap in caps if cap.now < cap.before)
    if lowered:
        store = connect(url)
        with store.write() as db:
            for cap in lowered:
                details = {"setting": cap.name, "before": cap.before, "now": cap.now}
                append_entry(db, at=now, by=BY, action="setting changed", details=details)
        store.close()
    return lowered


def _look_for_open_sessions(url: URL) -> None:
    """Refuse before a backup is made; `migrate` looks once more where nobody can open one."""
    store = connect(url, readonly=True)
    try:
        with store.read() as db:
            _refuse_open_sessions(db.connection(), url)
    finally:
        store.close()


def _refuse_open_sessions(connection: Connection, url: URL) -> None:
    # Plain words, not the models: the tables are those of an older program.
    asked = text("SELECT name FROM panel_session WHERE status = 'open' ORDER BY name")
    names = list(connection.scalars(asked))
    if not names:
        return
    those = f"session {names[0]} is" if len(names) == 1 else f"sessions {', '.join(names)} are"
    closing = " and ".join(f"`oakpanel session close {quote(name)}`" for name in names)
    raise SessionsOpen(
        f"The database {shown(url)} was not upgraded: {those} open, and booths may be saving. With "
        f"the Oakpanel of until now run {closing}, then upgrade. Nothing was changed."
    )


def _backup_first(url: URL, before: str, now: datetime) -> Path | None:
    if url.get_backend_name() != "sqlite":
        return None
    path = file_of(url)
    target = path.with_name(f"{path.stem}.{before}.{now:%Y%m%dT%H%M%SZ}.backup")
    back_up_file(path, target)
    return target


def migrate(url: URL, *, versions: Sequence[Path] = (VERSIONS,)) -> None:
    """Run the revisions that *versions* hold in one transaction."""
    from alembic import command
    from alembic.util.exc import CommandError

    from panel.store.vouching import REVISED, vouch_for_revised

    store = connect(url)
    try:
        with _whole(store) as connection:
            hold_off_booths(connection, url)
            vouched = bool(whole_tables(connection, [HEADS.name]))
            command.upgrade(alembic_config(connection, versions), "head")
            revised = connection.info.pop(REVISED, {})
            if vouched:
                vouch_for_revised(connection, revised, at=utc_now(), by=BY)
            else:
                _take_over(connection)
    except CommandError as error:
        raise StoreError(f"The database {shown(url)} was not upgraded: {error}.") from error
    finally:
        store.close()


def _take_over(connection: Connection) -> None:
    """Vouch for the records as they stand, once: done again, it would cover what was edited."""
    from panel.store.vouching import bound_tables, vouch_for_all

    if len(whole_tables(connection, [*bound_tables(), HEADS.name])) > len(bound_tables()):
        vouch_for_all(connection, at=utc_now(), by=BY)


def hold_off_booths(connection: Connection, url: URL) -> None:
    """Let no booth save, and nobody open a session, from here to the end of the transaction.

    In a file the write lock does that. On a server every save of a booth begins with a look at the
    revision; this waits until those that looked are over, and the next ones look when it is done.
    """
    if not inspect(connection).has_table(REVISION_TABLE):
        return
    if connection.dialect.name == "postgresql":
        whole = f"LOCK TABLE {REVISION_TABLE}, panel_session IN ACCESS EXCLUSIVE MODE"
        connection.execute(text(whole))
    _refuse_open_sessions(connection, url)


@contextmanager
def _whole(store: Store) -> Iterator[Connection]:
    """Give a connection in one write transaction that commits only if all references hold."""
    with explained(store.url), store.engine.connect() as raw:
        connection = raw.execution_options(**{WRITES: True})
        on_file = connection.dialect.name == "sqlite"
        if on_file:
            # A table made anew is dropped in between: its references must not bite meanwhile.
            _pragma(connection, "foreign_keys=OFF")
        try:
            with connection.begin():
                yield connection
                if on_file:
                    _refuse_loose_ends(connection, store.url)
        finally:
            if on_file:
                _pragma(connection, "foreign_keys=ON")


def _pragma(connection: Connection, setting: str) -> None:
    driver = connection.connection.dbapi_connection
    if driver is not None:
        driver.cursor().execute(f"PRAGMA {setting}")


def _refuse_loose_ends(connection: Connection, url: URL) -> None:
    loose = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    if loose:
        raise StoreError(
            f"The database {shown(url)} was not upgraded: {len(loose)} rows would point to "
            f"nothing (the first in {loose[0][0]}). It is as it was."
        )


def alembic_config(connection: Connection, versions: Sequence[Path] = (VERSIONS,)) -> Config:
    """Return Alembic's settings, made here so that no file has to lie beside the program."""
    from alembic.config import Config

    config = Config()
    folders = os.pathsep.join(str(folder) for folder in versions)
    config.set_main_option("script_location", str(VERSIONS.parent).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.set_main_option("version_locations", folders.replace("%", "%%"))
    config.attributes["connection"] = connection
    return config
