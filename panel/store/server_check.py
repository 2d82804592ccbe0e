"""Are the rules of rows and the functions on a PostgreSQL server those of the source?"""

from __future__ import annotations

import re
from collections.abc import Iterator

from sqlalchemy import Connection, text

from panel.store.booth_front import (
    APPEND,
    FUNCTIONS_OF_BOOTHS,
    SCHEMA,
    views_due,
    views_found,
)
from panel.store.booth_role import GRANTS
from panel.store.booth_rules import FUNCTIONS, POLICIES
from panel.store.migrations.server_rules import Function, Policy
from panel.store.stopped_view import NAME as STOPPED_GLASS

GRAMMAR = re.compile(r'[\s()"]+|::(?:text|name|character varying)(?:\[\])?')
CLOSED = text(
    "SELECT relname FROM pg_class WHERE relnamespace = current_schema()::regnamespace "
    "AND relrowsecurity AND relkind = 'r'"
)
RULES = text(
    "SELECT tablename, policyname, permissive, roles::text, cmd, qual, with_check "
    "FROM pg_policies WHERE schemaname = current_schema()"
)
DEEDS = text(
    "SELECT p.proname, pg_get_function_arguments(p.oid), pg_get_function_result(p.oid), l.lanname, "
    "p.provolatile, p.prosecdef, p.proconfig[1], cardinality(p.proconfig), p.prosrc "
    "FROM pg_proc p JOIN pg_language l ON l.oid = p.prolang "
    "WHERE p.pronamespace = current_schema()::regnamespace"
)
OPEN_TO_ALL = text(
    "SELECT p.proname FROM pg_proc p, aclexplode(coalesce(p.proacl, acldefault('f', p.proowner))) a"
    " WHERE p.pronamespace = current_schema()::regnamespace AND a.grantee = 0"
)
OWNERS = text(
    "SELECT DISTINCT p.proname FROM pg_proc p JOIN pg_roles r ON r.oid = p.proowner, "
    "aclexplode(p.proacl) a WHERE p.pronamespace = current_schema()::regnamespace "
    "AND a.grantee NOT IN (0, p.proowner) AND (r.rolcanlogin OR r.rolsuper OR r.rolbypassrls)"
)
PAST_VIEWS = text(
    "SELECT DISTINCT r.rolname, b.relname FROM pg_class v JOIN pg_attribute a ON a.attrelid = v.oid"
    " CROSS JOIN aclexplode(a.attacl) g JOIN pg_roles r ON r.oid = g.grantee "
    "JOIN pg_class b ON b.relnamespace = current_schema()::regnamespace AND b.relkind = 'r' "
    f"WHERE v.relnamespace = to_regnamespace('{SCHEMA}') AND r.rolcanlogin "
    "AND has_any_column_privilege(r.oid, b.oid, 'SELECT, INSERT, UPDATE') ORDER BY 1, 2"
)
PAST_APPEND = text(
    "SELECT DISTINCT r.rolname FROM pg_proc p CROSS JOIN aclexplode(p.proacl) g "
    "JOIN pg_roles r ON r.oid = g.grantee "
    "WHERE p.pronamespace = current_schema()::regnamespace AND p.proname = :name "
    f"AND to_regnamespace('{SCHEMA}') IS NOT NULL AND r.rolcanlogin AND g.grantee <> p.proowner "
    "ORDER BY 1"
)
BLIND_HANDS = text(
    "SELECT c.relname FROM pg_class c JOIN pg_namespace n ON n.nspname = :booths "
    "WHERE c.relnamespace = current_schema()::regnamespace AND c.relname = :name "
    "AND NOT has_table_privilege(n.nspowner, c.oid, 'SELECT')"
)
VOLATILE = {"i": "IMMUTABLE", "s": "STABLE", "v": "VOLATILE"}


def strange_rules(connection: Connection) -> Iterator[str]:
    """Give in words each way in which they differ, and who may use a function that should not."""
    found, due = rules_found(connection), rules_due(connection)
    yield from (f"the server lacks its {line}" for line in sorted(due - found))
    yield from (f"the server has a strange {line}" for line in sorted(found - due))
    for name in sorted(connection.scalars(OPEN_TO_ALL)):
        yield f"everybody may run the function {name}"
    for name in sorted(connection.scalars(OWNERS)):
        yield f"the function {name} runs as a user who can log in or is bound by no rule"
    yield from _strange_views(connection)


def _strange_views(connection: Connection) -> Iterator[str]:
    """Give each view of the booths that is not as it should be, once there are any."""
    found = views_found(connection)
    schema = str(connection.scalar(text("SELECT quote_ident(current_schema())")))
    due = views_due(GRANTS, schema) if found else {}
    for name in sorted(due.keys() | found.keys()):
        kind = "function" if name in FUNCTIONS_OF_BOOTHS else "view"
        if name not in found:
            yield f"the booths' {kind} {name} is not there"
        elif found[name] != due.get(name):
            yield f"the booths' {kind} {name} is not the one of this program"
    for name in connection.scalars(BLIND_HANDS, {"booths": SCHEMA, "name": STOPPED_GLASS}):
        yield f"the booths' views may not read {name}"
    for user, table in connection.execute(PAST_VIEWS):
        yield f"{user} may reach the table {table} past the booths' views"
    for user in connection.scalars(PAST_APPEND, {"name": APPEND}):
        yield f"{user} may write to the log though its seat was left"


def rules_due(connection: Connection) -> set[str]:
    """Return what the source gives, a line each."""
    schema = str(connection.scalar(text("SELECT quote_ident(current_schema())")))
    return {
        *(f"closing of {policy.table}" for policy in POLICIES),
        *(_policy_line(policy) for policy in POLICIES),
        *(_function_line(function, schema) for function in FUNCTIONS),
    }


def rules_found(connection: Connection) -> set[str]:
    """Return what the server has, a line each."""
    found = {f"closing of {name}" for name in connection.scalars(CLOSED)}
    for table, name, kind, roles, command, seen, written in connection.execute(RULES):
        what = (kind, roles, command, _bare(seen), _bare(written))
        found.add(f"rule {name} of {table} {what}")
    for name, takes, gives, language, changes, *rest in connection.execute(DEEDS):
        what = (_bare(takes), _bare(gives), f"{language} {VOLATILE[changes]}", *rest)
        found.add(f"function {name} {what}")
    return found


def _policy_line(policy: Policy) -> str:
    kind = "RESTRICTIVE" if policy.restrictive else "PERMISSIVE"
    what = (kind, "{public}", policy.command, _bare(policy.seen), _bare(policy.written))
    return f"rule {policy.name} of {policy.table} {what}"


def _function_line(function: Function, schema: str) -> str:
    path = f"search_path=pg_catalog, {schema}, pg_temp"
    what = (
        *(_bare(function.takes), _bare(function.gives), function.language, True),
        *(path, 1, function.body),
    )
    return f"function {function.name} {what}"


def _bare(words: str | None) -> str:
    """Return a rule without what a server adds to it: parentheses, kinds and spaces."""
    plain = GRAMMAR.sub("", words or "").lower()
    return plain.replace("timestampwithouttimezone", "timestamp")
