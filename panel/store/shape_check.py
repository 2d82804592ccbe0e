"""Are the tables those of the source: their columns and rules, and no trigger on any of them?"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from sqlalchemy import Connection, Inspector, create_engine, inspect, text
from sqlalchemy.engine.interfaces import ReflectedColumn

from panel.store import stopped_view
from panel.store.engine import sqlite_module
from panel.store.revisions import REVISION_TABLE
from panel.store.server_check import strange_rules
from panel.store.shape_clauses import clauses_by_table
from panel.store.tables import METADATA

Shape = dict[str, set[str]]
"""By table: what it consists of, a line each."""
STRANGE_ON_FILE = text(
    "SELECT type, name, sql FROM sqlite_master WHERE type IN ('trigger', 'view')"
)
STRANGE_ON_SERVER = text(
    "SELECT 'trigger', t.tgname, '' FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
    "WHERE c.relnamespace = current_schema()::regnamespace "
    "AND (NOT t.tgisinternal OR t.tgenabled <> 'O') "
    "UNION ALL SELECT 'rule', rulename, '' FROM pg_rules WHERE schemaname = current_schema() "
    "UNION ALL SELECT 'view', viewname, definition FROM pg_views "
    "WHERE schemaname = current_schema()"
)


def strange_shapes(connection: Connection) -> list[str]:
    """Return in words each way in which the tables differ from those of this program."""
    on_file = connection.dialect.name == "sqlite"
    found, due = _shape(connection, whole=on_file), _due(whole=on_file)
    strange = [*_differences(found, due), *_strange_things(connection, on_file=on_file)]
    return strange if on_file else [*strange, *strange_rules(connection)]


def whole_tables(connection: Connection, names: list[str]) -> list[str]:
    """Return which of these tables have all the columns that they should have."""
    look = inspect(connection)
    there = set(look.get_table_names())
    return [
        name
        for name in names
        if name in there
        and {column.name for column in METADATA.tables[name].columns}
        <= {column["name"] for column in look.get_columns(name)}
    ]


@cache
def _due(*, whole: bool) -> Shape:
    """Return the shape that the models give, read back from a database in memory."""
    engine = create_engine("sqlite://", module=sqlite_module())
    with engine.connect() as connection:
        METADATA.create_all(connection)
        due = _shape(connection, whole=whole)
    engine.dispose()
    return due


def _shape(connection: Connection, *, whole: bool) -> Shape:
    look = inspect(connection)
    names = set(look.get_table_names()) - {REVISION_TABLE}
    clauses = clauses_by_table(connection) if whole else {}
    return {name: {*_lines(look, name, whole=whole), *clauses.get(name, set())} for name in names}


def _lines(look: Inspector, table: str, *, whole: bool) -> Iterator[str]:
    """Give what a table consists of. A server words rules its own way: there names stand alone."""
    for column in look.get_columns(table):
        yield f"column {column['name']}{_column_words(column) if whole else ''}"
    yield f"key {look.get_pk_constraint(table)['constrained_columns']}"
    for check in look.get_check_constraints(table):
        yield f"rule {check['name']}{': ' + check['sqltext'] if whole else ''}"
    for alone in look.get_unique_constraints(table):
        yield f"rule {alone['name']} {alone['column_names']}"
    for foreign in look.get_foreign_keys(table):
        columns, options = foreign["constrained_columns"], foreign.get("options") or {}
        also = "".join(f" {name} {value}" for name, value in sorted(options.items()))
        yield f"rule {foreign['name']} {columns} {foreign['referred_table']}{also}"
    for index in look.get_indexes(table):
        if not index.get("duplicates_constraint"):
            unique = " unique" if index["unique"] else ""
            yield f"index {index['name']} {index['column_names']}{unique}"


def _column_words(column: ReflectedColumn) -> str:
    empty = "may be empty" if column["nullable"] else "never empty"
    return f" {column['type']} {empty} {column.get('default')}"


def _differences(found: Shape, due: Shape) -> Iterator[str]:
    for table in sorted(due.keys() - found.keys()):
        yield f"the table {table} is not there"
    for table in sorted(found.keys() - due.keys()):
        yield f"the table {table} is not of this program"
    for table in sorted(due.keys() & found.keys()):
        yield from (f"{table} lacks its {line}" for line in sorted(due[table] - found[table]))
        yield from (f"{table} has a strange {line}" for line in sorted(found[table] - due[table]))


def _strange_things(connection: Connection, *, on_file: bool) -> Iterator[str]:
    found = connection.execute(STRANGE_ON_FILE if on_file else STRANGE_ON_SERVER).all()
    # On a server an earlier program left another one: what follows is said of those who wrote.
    way = "" if on_file else " (where an earlier one made it, `oakpanel db upgrade` makes it anew)"
    ours = [words for kind, name, words in found if (kind, name) == ("view", stopped_view.NAME)]
    if not ours:
        yield f"the view {stopped_view.NAME} is not there"
    elif not stopped_view.is_as_made(connection.dialect.name, ours[0]):
        yield f"the view {stopped_view.NAME} is not the one of this program{way}"
    for kind, name, _ in found:
        if (kind, name) != ("view", stopped_view.NAME):
            yield f"there is a {kind} {name}, which is not of this program"
