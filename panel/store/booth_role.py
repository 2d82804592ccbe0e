"""The booths' own user on PostgreSQL: it reads and writes what a booth needs, never the key."""

from __future__ import annotations

import re
import secrets
from dataclasses import dataclass

from sqlalchemy import text
from sqlalchemy.engine import URL
from sqlalchemy.orm import Session

from panel.errors import StoreError
from panel.store.engine import Store
from panel.store.revisions import REVISION_TABLE
from panel.store.tables import METADATA

NAME = re.compile(r"[a-z_][a-z0-9_]{0,62}")
GRANTS: dict[str, str] = {
    REVISION_TABLE: "SELECT",
    "house_setting": "SELECT",
    "descriptor": "SELECT",
    "descriptor_version": "SELECT",
    "person": "SELECT",
    "person_role": "SELECT",
    "panel_session": "SELECT",
    "session_descriptor": "SELECT",
    "session_assessor": "SELECT, UPDATE (not_at_best, finished_at, row_nonce)",
    "serving": "SELECT, UPDATE (taken_order, taken_at, finished_at, row_nonce)",
    "serving_mark": "SELECT",
    "score": "SELECT, INSERT, UPDATE, DELETE",
    "score_change": "SELECT, INSERT",
    "own_word": "SELECT, INSERT, UPDATE (word, named_at, row_nonce), DELETE",
    "own_score": "SELECT, INSERT, UPDATE, DELETE",
    "own_score_change": "SELECT, INSERT",
    "fault_mark": "SELECT, INSERT, UPDATE, DELETE",
    "serving_note": "SELECT, INSERT, UPDATE, DELETE",
    "lead_call": "SELECT, INSERT",
    "booth_seat": "SELECT, INSERT, UPDATE",
    "sign_in_guard": "SELECT, INSERT, UPDATE, DELETE",
    "log_entry": "SELECT (id, chain_hex), INSERT",
    "log_head": "SELECT, UPDATE",
}
"""What a booth may do, table by table; a table that is not named it cannot even read."""
CLOSED = (
    *("key_row", "key_secret", "planned_draw", "draw", "draw_part", "person_name"),
    "hour_pass",
)
"""What no booth may read, by whatever way."""
COUNTERS = ("score_change", "own_word", "own_score_change", "lead_call", "log_entry")
"""Tables in which a booth makes new numbers."""


@dataclass(frozen=True)
class BoothRole:
    """The user that was made; the password is known only where it was set just now."""

    name: str
    password: str | None
    url: str

    json_keys = (("name", "role"), "url", "new_password")

    @property
    def new_password(self) -> bool:
        """Whether a password was set; the password itself is told once, to who asked."""
        return self.password is not None


def make_booth_role(store: Store, name: str, *, new_password: bool = False) -> BoothRole:
    """Make the booths' user *name*, or bring its rights back to what they should be.

    Raises
    ------
    StoreError
        Not PostgreSQL, a name that cannot be one, or a user who may not make others.
    """
    if store.url.get_backend_name() != "postgresql":
        raise StoreError(
            "A user of its own for the booths exists on PostgreSQL only. With a SQLite file, "
            "whoever can read the file can read the key: keep the file to the lead's account."
        )
    if not NAME.fullmatch(name) or name.startswith("pg_"):
        raise StoreError(f"{name!r} cannot be a user's name: small letters, digits, underscores.")
    with store.write() as db:
        password = _user(db, name, new_password=new_password)
        _grant(db, name, store.url)
        _refuse_readers_of_the_key(db, name)
    return BoothRole(name, password, _shown_url(store.url, name, password))


def _user(db: Session, name: str, *, new_password: bool) -> str | None:
    there = db.scalar(text("SELECT 1 FROM pg_roles WHERE rolname = :name"), {"name": name})
    _refuse_strong(db, name)
    if there and not new_password:
        return None
    password = secrets.token_urlsafe(24)
    deed = "ALTER" if there else "CREATE"
    db.execute(text(f"{deed} ROLE {_quoted(name)} LOGIN PASSWORD '{password}'"))
    return password


def _refuse_strong(db: Session, name: str) -> None:
    owns = (
        "SELECT rolsuper OR EXISTS (SELECT 1 FROM pg_tables WHERE tableowner = :name) "
        "FROM pg_roles WHERE rolname = :name"
    )
    if db.scalar(text(owns), {"name": name}):
        raise StoreError(f"{name!r} owns tables or the server: it would read the key whatever.")


def _grant(db: Session, name: str, url: URL) -> None:
    role = _quoted(name)
    schema = _quoted(str(db.scalar(text("SELECT current_schema()"))))
    db.execute(text(f"GRANT CONNECT ON DATABASE {_quoted(url.database or '')} TO {role}"))
    db.execute(text(f"GRANT USAGE ON SCHEMA {schema} TO {role}"))
    for table in (*METADATA.tables, REVISION_TABLE):
        db.execute(text(f"REVOKE ALL ON {_quoted(table)} FROM PUBLIC, {role}"))
    for table, rights in GRANTS.items():
        db.execute(text(f"GRANT {rights} ON {_quoted(table)} TO {role}"))
    for table in COUNTERS:
        counter = db.scalar(text("SELECT pg_get_serial_sequence(:table, 'id')"), {"table": table})
        db.execute(text(f"GRANT USAGE ON SEQUENCE {counter} TO {role}"))


def _refuse_readers_of_the_key(db: Session, name: str) -> None:
    """Look once more: membership in another role could still open what was not granted."""
    may = text("SELECT has_table_privilege(:name, :table, 'SELECT')")
    for table in CLOSED:
        if db.scalar(may, {"name": name, "table": table}):
            raise StoreError(
                f"{name!r} can read {table!r} by another way (a role it belongs to). Take a new "
                "name, or take it out of that role. Nothing was changed."
            )


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def _shown_url(url: URL, name: str, password: str | None) -> str:
    own = url.set(username=name, password=password, drivername="postgresql")
    return own.render_as_string(hide_password=False)
