"""The booths' own user on PostgreSQL: it reads and writes what a booth needs, never the key."""

from __future__ import annotations

import re
import secrets
from dataclasses import dataclass

from sqlalchemy import TextClause, text
from sqlalchemy.engine import URL
from sqlalchemy.orm import Session

from panel.errors import StoreError
from panel.store import booth_front, stopped_view
from panel.store.booth_rules import FUNCTIONS
from panel.store.engine import Store, connect
from panel.store.migrations.server_rules import Function
from panel.store.revisions import REVISION_TABLE
from panel.store.tables import METADATA

NAME = re.compile(r"[a-z_][a-z0-9_]{0,62}")
GRANTS: dict[str, str] = {
    REVISION_TABLE: "SELECT",
    "house_setting": "SELECT",
    "descriptor": "SELECT",
    "descriptor_version": "SELECT",
    "person": "SELECT (id, code)",
    "panel_session": "SELECT (id, name, status, manner, may_go_back, pause_s, kind, most_words)",
    "session_descriptor": "SELECT",
    "session_assessor": "SELECT, UPDATE (not_at_best, finished_at, row_nonce)",
    "serving": "SELECT, UPDATE (taken_order, taken_at, finished_at, row_nonce)",
    "score": "SELECT, INSERT, UPDATE, DELETE",
    "score_change": "SELECT, INSERT",
    "own_word": "SELECT, INSERT, UPDATE (word, named_at, row_nonce), DELETE",
    "own_score": "SELECT, INSERT, UPDATE, DELETE",
    "own_score_change": "SELECT, INSERT",
    "answer": "SELECT, INSERT, UPDATE, DELETE",
    "answer_change": "SELECT, INSERT",
    "passing": "SELECT",
    "fault_mark": "SELECT, INSERT, UPDATE, DELETE",
    "serving_note": "SELECT, INSERT, UPDATE, DELETE",
    "lead_call": "SELECT, INSERT",
    "booth_seat": "SELECT, UPDATE (place)",
    "booth_deed": "SELECT, INSERT",
    stopped_view.NAME: "SELECT",
}
"""What a booth may do, table by table, to the rows that the server's rules let it see.

It does so by views of the same names (`panel.store.booth_front`); a table itself it cannot even
read. A seat is held while it is looked at, which asks for a right to change it; a rule lets no
change pass.
"""
KEEPER_GRANTS: dict[str, str] = {
    "person": "SELECT (id, code, pin_hash)",
    "panel_session": "SELECT (id, name, status)",
    "session_assessor": "SELECT (session_id, person_id)",
    "serving": "SELECT (id, session_id, person_id)",
    "score": "SELECT (serving_id, descriptor_version_id, value)",
    "score_change": "SELECT (id, serving_id, descriptor_version_id, value)",
    "own_word": "SELECT (id, session_id, person_id)",
    "own_score": "SELECT (serving_id, own_word_id, value)",
    "own_score_change": "SELECT (id, serving_id, own_word_id, value)",
    "answer": "SELECT (serving_id, question, value)",
    "answer_change": "SELECT (id, serving_id, question, value)",
    "lead_call": "SELECT (id, session_id, person_id)",
    "booth_seat": "SELECT, INSERT, UPDATE",
    "sign_in_guard": "SELECT, INSERT, UPDATE, DELETE",
    "sign_in_try": "SELECT, INSERT, UPDATE, DELETE",
    "sign_in_secret": "SELECT",
    "log_entry": "SELECT (id, chain_hex), INSERT",
    "log_head": "SELECT, UPDATE",
}
"""What the server's functions may do, which sign booths in and write the log."""
CLOSED = (
    *("key_row", "key_secret", "planned_draw", "draw", "draw_part", "person_name"),
    *("hour_pass", "planned_way", "planned_serving", "draw_stop", "stopped_mark", "consent"),
    *("release_batch", "stock_plan", "planned_release", "planned_part", "planned_finding"),
    *("planted", "passing_hold", "training"),
    *("site_pack", "pack_seat", "pack_amount"),
)
"""What no booth may read, by whatever way."""
COUNTERS = ("score_change", "own_word", "own_score_change", "answer_change", "lead_call")
"""Tables in which a booth makes new numbers."""
KEEPERS = text("SELECT substr('oakpanel_keeper_' || current_database(), 1, 63)")
HANDS = text("SELECT substr('oakpanel_hand_' || current_database(), 1, 63)")
"""Names under which nobody can log in, for each database of a server: functions, and views."""


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
        # Rules of rows take longer to plan than to run: what a booth asks is always the same.
        db.execute(text(f"ALTER ROLE {_quoted(name)} SET plan_cache_mode = force_generic_plan"))
        hand = _nobody(db, HANDS)
        stopped_view.mend_view(db.connection())
        _grant(db, name, store.url)
        _hand_over(db, _nobody(db, KEEPERS), name, hand)
        _show(db, hand, name, store.url)
        _refuse_readers_of_the_key(db, name)
    return BoothRole(name, password, _shown_url(store.url, name, password))


def booth_users(url: URL) -> set[str]:
    """Return who may take up a glass on a server without owning its tables; by plain words."""
    if url.get_backend_name() != "postgresql":
        return set()
    store = connect(url, readonly=True)
    try:
        with store.read() as db:
            here = str(db.scalar(text("SELECT current_schema()")))
            return _users(db, here) | _users(db, booth_front.SCHEMA)
    finally:
        store.close()


def _users(db: Session, schema: str) -> set[str]:
    """Return who may log in and take up a glass, of the table or the view in a schema."""
    asked = text(
        "SELECT DISTINCT r.rolname FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid "
        "CROSS JOIN aclexplode(a.attacl) g JOIN pg_roles r ON r.oid = g.grantee "
        "WHERE c.relname = 'serving' AND c.relnamespace = to_regnamespace(quote_ident(:schema)) "
        "AND a.attname = 'taken_at' AND g.privilege_type = 'UPDATE' AND r.rolcanlogin"
    )
    return set(db.scalars(asked, {"schema": schema}))


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
        "SELECT rolsuper OR rolbypassrls OR EXISTS (SELECT 1 FROM pg_tables "
        "WHERE tableowner = :name) FROM pg_roles WHERE rolname = :name"
    )
    if db.scalar(text(owns), {"name": name}):
        raise StoreError(
            f"{name!r} owns tables or the server, or no rule of rows binds it: it would "
            "read the key whatever."
        )


def _nobody(db: Session, named: TextClause) -> str:
    """Make a user whom functions or views run as, or look whether it is as it should be."""
    name = str(db.scalar(named))
    asked = "SELECT rolcanlogin OR rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = :name"
    found = db.scalar(text(asked), {"name": name})
    if found:
        raise StoreError(f"{name!r} can log in or is bound by no rule: take that from it first.")
    if found is None:
        db.execute(text(f"CREATE ROLE {_quoted(name)} NOLOGIN"))
    return name


def _hand_over(db: Session, keeper: str, name: str, hand: str) -> None:
    """Let the functions run as *keeper*, with the rights they need, and booths run two of them.

    A third, which writes to the log, only *hand* runs, once it has looked whether the seat was left
    (`panel.store.booth_front`). Whoever is no superuser may do that as one of the keeper's own, and
    is so no longer than that.
    """
    role, schema = _quoted(keeper), _schema(db)
    strong = db.scalar(text("SELECT rolsuper FROM pg_roles WHERE rolname = current_user"))
    _set_rights(db, role, KEEPER_GRANTS, ("log_entry",))
    # To be given a function one has to be allowed to make some; that ends with the handing over.
    db.execute(text(f"GRANT CREATE ON SCHEMA {schema} TO {role}"))
    if not strong:
        db.execute(text(f"GRANT {role} TO CURRENT_USER"))
    for function in FUNCTIONS:
        db.execute(text(f"ALTER FUNCTION {function.signature} OWNER TO {role}"))
        _let_run(db, function, name, hand)
    if not strong:
        db.execute(text(f"REVOKE {role} FROM CURRENT_USER"))
    db.execute(text(f"REVOKE CREATE ON SCHEMA {schema} FROM {role}"))


def _let_run(db: Session, function: Function, name: str, hand: str) -> None:
    behind = function.name == booth_front.APPEND
    deed, to = ("GRANT", "TO") if function.for_booths and not behind else ("REVOKE", "FROM")
    users = {name, *(_users(db, booth_front.SCHEMA) if behind else ())}
    for user in sorted(users):
        db.execute(text(f"{deed} EXECUTE ON FUNCTION {function.signature} {to} {_quoted(user)}"))
    if behind:
        db.execute(text(f"GRANT EXECUTE ON FUNCTION {function.signature} TO {_quoted(hand)}"))


def _show(db: Session, hand: str, name: str, url: URL) -> None:
    """Make the booths' views, where they are not as they should be, and open them to *name*.

    Their own user makes them; whoever is no superuser is one of its own for as long as that takes.
    """
    role, schema = _quoted(hand), str(db.scalar(text("SELECT quote_ident(current_schema())")))
    strong = db.scalar(text("SELECT rolsuper FROM pg_roles WHERE rolname = current_user"))
    _set_rights(db, role, GRANTS, ())
    if not strong:
        db.execute(text(f"GRANT {role} TO CURRENT_USER"))
    _make_views(db, role, schema, name)
    if not strong:
        db.execute(text(f"REVOKE {role} FROM CURRENT_USER"))
    house, path = _quoted(url.database or ""), f"{booth_front.SCHEMA}, {schema}"
    db.execute(text(f"ALTER ROLE {_quoted(name)} IN DATABASE {house} SET search_path = {path}"))


def _make_views(db: Session, role: str, schema: str, name: str) -> None:
    users = {name}
    found = booth_front.views_found(db.connection())
    anew = found != booth_front.views_due(GRANTS, schema)
    if anew:
        users |= _users(db, booth_front.SCHEMA)
        db.execute(text(f"DROP SCHEMA IF EXISTS {booth_front.SCHEMA} CASCADE"))
        db.execute(text(f"CREATE SCHEMA {booth_front.SCHEMA} AUTHORIZATION {role}"))
    db.execute(text(f"SET LOCAL ROLE {role}"))
    connection = db.connection()
    for statement in booth_front.making(GRANTS, schema) if anew else ():
        connection.exec_driver_sql(statement)
    for user in sorted(users):
        for statement in booth_front.opening(GRANTS, _quoted(user)):
            connection.exec_driver_sql(statement)
    db.execute(text("RESET ROLE"))


def _set_rights(db: Session, role: str, grants: dict[str, str], counters: tuple[str, ...]) -> None:
    db.execute(text(f"GRANT USAGE ON SCHEMA {_schema(db)} TO {role}"))
    for table in (*METADATA.tables, REVISION_TABLE, stopped_view.NAME):
        db.execute(text(f"REVOKE ALL ON {_quoted(table)} FROM PUBLIC, {role}"))
    for table, rights in grants.items():
        db.execute(text(f"GRANT {rights} ON {_quoted(table)} TO {role}"))
    for table in counters:
        counter = db.scalar(text("SELECT pg_get_serial_sequence(:table, 'id')"), {"table": table})
        db.execute(text(f"GRANT USAGE ON SEQUENCE {counter} TO {role}"))


def _grant(db: Session, name: str, url: URL) -> None:
    role = _quoted(name)
    db.execute(text(f"GRANT CONNECT ON DATABASE {_quoted(url.database or '')} TO {role}"))
    db.execute(text(f"REVOKE CREATE ON SCHEMA {_schema(db)} FROM PUBLIC, {role}"))
    _set_rights(db, role, {}, COUNTERS)


def _schema(db: Session) -> str:
    return _quoted(str(db.scalar(text("SELECT current_schema()"))))


def _refuse_readers_of_the_key(db: Session, name: str) -> None:
    """Look once more: membership in another role could still open what was not granted."""
    may = text("SELECT has_any_column_privilege(:name, :table, 'SELECT')")
    schema = _schema(db)
    for table in (*CLOSED, *(f"{schema}.{table}" for table in METADATA.tables)):
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
