"""Rules of rows and functions as a PostgreSQL server keeps them, and what makes them there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import Connection, text


@dataclass(frozen=True)
class Policy:
    """One rule of rows: whoever it lets see a row may do to it what the grants say."""

    table: str
    name: str
    seen: str | None
    written: str | None = None
    """What a written row has to be, where that is more than being seen."""
    command: str = "ALL"
    restrictive: bool = False

    def statement(self) -> str:
        """Return what makes it."""
        kind = "RESTRICTIVE" if self.restrictive else "PERMISSIVE"
        seen = f" USING ({self.seen})" if self.seen else ""
        written = f" WITH CHECK ({self.written})" if self.written else ""
        return (
            f"CREATE POLICY {self.name} ON {self.table} AS {kind} FOR {self.command} TO PUBLIC"
            f"{seen}{written}"
        )


@dataclass(frozen=True)
class Function:
    """One function: what it takes, what it gives, its language and its body."""

    name: str
    takes: str
    gives: str
    language: str
    body: str
    for_booths: bool

    @property
    def signature(self) -> str:
        """The name with the kinds of what it takes, as rights are given on it."""
        kinds = (taken.split()[-1] for taken in self.takes.split(","))
        return f"{self.name}({', '.join(kinds)})"

    def statements(self, schema: str) -> list[str]:
        """Return what makes it and closes it to everybody."""
        return [
            f"CREATE FUNCTION {self.name}({self.takes}) RETURNS {self.gives} "
            f"LANGUAGE {self.language} SECURITY DEFINER "
            f"SET search_path = pg_catalog, {schema}, pg_temp AS $oakpanel${self.body}$oakpanel$",
            f"REVOKE ALL ON FUNCTION {self.signature} FROM PUBLIC",
        ]


OWNER = text(
    "SELECT quote_ident(r.rolname) FROM pg_proc p JOIN pg_roles r ON r.oid = p.proowner "
    "WHERE p.pronamespace = current_schema()::regnamespace AND p.proname = :name "
    "AND r.rolname <> current_user "
    "AND NOT (SELECT m.rolsuper FROM pg_roles m WHERE m.rolname = current_user)"
)
"""Whoever a function belongs to, where whoever asks is somebody else and no superuser."""


def change_rules(
    connection: Connection, policies: Iterable[Policy], functions: Iterable[Function]
) -> None:
    """Put rules and functions of the same names in the place of those that a server has.

    Rights and owners of a function stay; whoever is no superuser is one of its owner's own for as
    long as that takes.
    """
    schema = str(connection.scalar(text("SELECT quote_ident(current_schema())")))
    for policy in policies:
        connection.execute(text(f"DROP POLICY {policy.name} ON {policy.table}"))
        connection.execute(text(policy.statement()))
    for function in functions:
        made, _ = function.statements(schema)
        anew = made.replace("CREATE FUNCTION", "CREATE OR REPLACE FUNCTION", 1)
        owner = connection.scalar(OWNER, {"name": function.name})
        if owner is not None:
            connection.execute(text(f"GRANT {owner} TO CURRENT_USER"))
        connection.execute(text(anew))
        if owner is not None:
            connection.execute(text(f"REVOKE {owner} FROM CURRENT_USER"))


def make_rules(
    connection: Connection, policies: Iterable[Policy], functions: Iterable[Function]
) -> None:
    """Close tables, open rows of them, and make functions, on a server."""
    policies = tuple(policies)
    schema = str(connection.scalar(text("SELECT quote_ident(current_schema())")))
    for table in dict.fromkeys(policy.table for policy in policies):
        connection.execute(text(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY"))
    for policy in policies:
        connection.execute(text(policy.statement()))
    for function in functions:
        for statement in function.statements(schema):
            connection.execute(text(statement))
