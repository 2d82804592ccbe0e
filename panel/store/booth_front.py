"""What the booths' own user sees of a PostgreSQL server: views of its own, and none of the tables.

Rules of rows keep others' rows from it, and not what a plan tells of them: a server tries a cheap
comparison, or an index, before a rule, and `EXPLAIN ANALYZE`, its estimates and its counters tell
how many rows were tried. So a seat's rows are gathered first, behind OFFSET 0, which nothing is
pushed through, and whatever is asked is asked of those. What is written goes by a function to the
row that was seen, and the rules of rows hold it there as well. All of it runs as a user under whose
name nobody can log in and who is bound by the rules of rows.

Which glasses are stopped hangs on the key, so even the seat's own rows may not come one by one: a
cursor, or `LIMIT 1`, would leave off where they were found. A function gathers them (`STOPPED`);
no plan shows what is inside it, and what the counters of tables tell is the same for every key.

The token of a seat that was left opens none of it but what tells that it was left, and writes
nothing, in the log neither.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from sqlalchemy import Connection, text

from panel.store import stopped_view
from panel.store.deed_numbers import NUMBER_ON_SERVER, BoothDeed
from panel.store.revisions import REVISION_TABLE
from panel.store.sessions import BoothSeat, PanelSession
from panel.store.tables import METADATA

SCHEMA = "oakpanel_booth"
BARRIER = "security_barrier=true"
RIGHT = re.compile(r"(SELECT|INSERT|UPDATE|DELETE)(?: \(([^)]*)\))?")
DEEDS = ("INSERT", "UPDATE", "DELETE")
OPEN_WHEN_LEFT = frozenset(
    {
        *(REVISION_TABLE, "house_setting", PanelSession.__tablename__),
        *(BoothSeat.__tablename__, BoothDeed.__tablename__),
    }
)
"""What is read before anybody sits down, and by what a booth learns that its seat was left."""
APPEND = "oakpanel_append"
APPEND_KINDS = "timestamp, text, text"
"""The function that writes to the log; booths call one of the same name, which asks first."""

STOPPED = "oakpanel_stopped"
"""The function that gives the glasses of a seat that are stopped, all at once."""
FUNCTIONS_OF_BOOTHS = frozenset({APPEND, STOPPED})


def _was_left(schema: str) -> str:
    deeds = f"{schema}.{BoothDeed.__tablename__}"
    return f"EXISTS (SELECT 1 FROM {deeds} l WHERE l.number_hex = {NUMBER_ON_SERVER})"


def _refused_when_left(schema: str) -> str:
    return (
        f"    IF {_was_left(schema)} THEN\n"
        "        RAISE EXCEPTION 'permission denied: the seat was left' USING ERRCODE = '42501';\n"
        "    END IF;\n"
    )


def append_body(schema: str) -> str:
    """Return what a booth's call of the log's function does: ask, then pass it on."""
    passed = f"    PERFORM {schema}.{APPEND}(moment, body, told);\n"
    return f"\nBEGIN\n{_refused_when_left(schema)}{passed}END\n"


def stopped_body(schema: str) -> str:
    """Return what gathers the stopped glasses of a seat; a seat that was left has none."""
    return (
        f"\nBEGIN\n    IF {_was_left(schema)} THEN RETURN; END IF;\n"
        f"    RETURN QUERY SELECT t.serving_id FROM {schema}.{stopped_view.NAME} t;\nEND\n"
    )


@dataclass(frozen=True)
class Front:
    """One view, by what may be done to it: right and columns, none where it is all of them."""

    table: str
    rights: Mapping[str, tuple[str, ...]]

    @property
    def columns(self) -> tuple[str, ...]:
        """What it shows."""
        return self.rights["SELECT"] or _columns(self.table)

    @property
    def key(self) -> tuple[str, ...]:
        """By which columns a row that was seen is found again."""
        if self.table not in METADATA.tables:
            return ()
        return tuple(METADATA.tables[self.table].primary_key.columns.keys())

    @property
    def deeds(self) -> tuple[str, ...]:
        """What may be done but reading."""
        return tuple(deed for deed in DEEDS if deed in self.rights)

    @property
    def counter(self) -> bool:
        """Whether a row that is put in gets the next number."""
        return "INSERT" in self.rights and self.key == ("id",)

    def definition(self, schema: str) -> str:
        """Return what it is made of. Of a glass's rows the glass is looked up first."""
        listed = ", ".join(f"t.{name}" for name in self.columns)
        if self.table == stopped_view.NAME:
            return f"SELECT {listed} FROM {SCHEMA}.{STOPPED}() t(serving_id) OFFSET 0"
        asked = []
        if "serving_id" in self.columns and "session_id" not in self.columns:
            asked.append(f"t.serving_id IN (SELECT v.id FROM {schema}.serving v)")
        if self.table not in OPEN_WHEN_LEFT:
            asked.append(f"NOT {_was_left(schema)}")
        where = f" WHERE {' AND '.join(asked)}" if asked else ""
        return f"SELECT {listed} FROM {schema}.{self.table} t{where} OFFSET 0"

    def body(self, schema: str) -> str:
        """Return what writes to the table what is written to the view, as far as it may be."""
        table = f"{schema}.{self.table}"
        found = " AND ".join(f"{name} = OLD.{name}" for name in self.key)
        ways = {
            "INSERT": self._put_in(table),
            "UPDATE": f"{self._changed(table)} WHERE {found}",
            "DELETE": f"DELETE FROM {table} WHERE {found}",
        }
        lines = [_branch(deed, ways[deed]) for deed in self.deeds]
        refused = _refused_when_left(schema) if self.deeds else ""
        return f"\nBEGIN\n{refused}{''.join(lines)}    RETURN NULL;\nEND\n"

    def _put_in(self, table: str) -> str:
        values = ", ".join(f"NEW.{name}" for name in self.columns)
        return f"INSERT INTO {table} ({', '.join(self.columns)}) VALUES ({values})"

    def _changed(self, table: str) -> str:
        names = self.rights.get("UPDATE") or self.columns
        return f"UPDATE {table} SET {', '.join(f'{name} = NEW.{name}' for name in names)}"

    def grants(self) -> str:
        """Return what may be done to it, as it is granted; nobody chooses a number."""
        without = [name for name in self.columns if name != "id"]
        return ", ".join(
            f"{right} ({', '.join(without)})"
            if right == "INSERT" and self.counter
            else right + (f" ({', '.join(names)})" if names else "")
            for right, names in self.rights.items()
        )


def fronts(grants: Mapping[str, str]) -> Iterator[Front]:
    """Give a view for each table that booths may do something to."""
    for table, rights in grants.items():
        yield Front(table, _rights(rights))


def opening(grants: Mapping[str, str], role: str) -> Iterator[str]:
    """Give what opens the views to *role*, and no more of them than that."""
    yield f"GRANT USAGE ON SCHEMA {SCHEMA} TO {role}"
    for front in fronts(grants):
        name = f"{SCHEMA}.{front.table}"
        yield f"REVOKE ALL ON {name} FROM PUBLIC, {role}"
        yield f"GRANT {front.grants()} ON {name} TO {role}"
    yield f"GRANT EXECUTE ON FUNCTION {SCHEMA}.{APPEND}({APPEND_KINDS}) TO {role}"
    yield f"GRANT EXECUTE ON FUNCTION {SCHEMA}.{STOPPED}() TO {role}"


def making(grants: Mapping[str, str], schema: str) -> Iterator[str]:
    """Give what makes the views, run as whom they belong to."""
    yield _made_function(f"{STOPPED}()", "SETOF integer", schema, stopped_body(schema))
    yield f"REVOKE ALL ON FUNCTION {SCHEMA}.{STOPPED}() FROM PUBLIC"
    for front in fronts(grants):
        name = f"{SCHEMA}.{front.table}"
        made = front.definition(schema)
        yield f"CREATE VIEW {name} WITH ({BARRIER}) AS {made}"
        if front.counter:
            counter = f"pg_get_serial_sequence('{schema}.{front.table}', 'id')::regclass"
            yield f"ALTER VIEW {name} ALTER COLUMN id SET DEFAULT nextval({counter})"
        yield from _writing(front, name, schema)
    yield _made_function(f"{APPEND}(moment timestamp, body text, told text)", "void", schema)
    yield f"REVOKE ALL ON FUNCTION {SCHEMA}.{APPEND}({APPEND_KINDS}) FROM PUBLIC"


def _made_function(takes: str, gives: str, schema: str, body: str | None = None) -> str:
    made = append_body(schema) if body is None else body
    return (
        f"CREATE FUNCTION {SCHEMA}.{takes} RETURNS {gives} LANGUAGE plpgsql SECURITY DEFINER "
        f"SET search_path = pg_catalog, {schema}, pg_temp AS $oakpanel${made}$oakpanel$"
    )


FOUND = text(
    "SELECT c.relname, coalesce(array_to_string(c.reloptions, ','), ''), "
    "pg_get_viewdef(c.oid), coalesce(p.prosrc, ''), coalesce(p.prosecdef, true), "
    "coalesce(p.proconfig[1], ''), coalesce(t.tgenabled, 'O'), "
    "r.rolcanlogin OR r.rolsuper OR r.rolbypassrls OR r.oid <> coalesce(p.proowner, r.oid) "
    "FROM pg_class c JOIN pg_roles r ON r.oid = c.relowner "
    "LEFT JOIN pg_trigger t ON t.tgrelid = c.oid LEFT JOIN pg_proc p ON p.oid = t.tgfoid "
    f"WHERE c.relnamespace = to_regnamespace('{SCHEMA}') AND c.relkind IN ('r', 'v', 'm', 'f') "
    "UNION ALL SELECT f.proname, '', '', f.prosrc, f.prosecdef, coalesce(f.proconfig[1], ''), 'O', "
    "w.rolcanlogin OR w.rolsuper OR w.rolbypassrls FROM pg_proc f JOIN pg_roles w "
    f"ON w.oid = f.proowner WHERE f.pronamespace = to_regnamespace('{SCHEMA}') "
    "AND f.prorettype <> 'trigger'::regtype"
)
WITHOUT = re.compile(r"""[\s()";]+|::(?:text|name)|\b[a-z_]+\.""")


def views_found(connection: Connection) -> dict[str, tuple[object, ...]]:
    """Return what a server has of them, by name, and the function for the log beside them.

    None where no booths' user was ever made.
    """
    return {
        str(name): (options, WITHOUT.sub("", str(made)).lower(), *rest)
        for name, options, made, *rest in connection.execute(FOUND)
    }


def views_due(grants: Mapping[str, str], schema: str) -> dict[str, tuple[object, ...]]:
    """Return what it should have."""
    path = f"search_path=pg_catalog, {schema}, pg_temp"
    views: dict[str, tuple[object, ...]] = {
        front.table: (
            *(BARRIER, WITHOUT.sub("", front.definition(schema)).lower()),
            *(front.body(schema), True, path, "O", False),
        )
        for front in fronts(grants)
    }
    bodies = {APPEND: append_body(schema), STOPPED: stopped_body(schema)}
    functions = {name: ("", "", body, True, path, "O", False) for name, body in bodies.items()}
    return {**views, **functions}


def _writing(front: Front, name: str, schema: str) -> Iterator[str]:
    yield _made_function(f"{front.table}()", "trigger", schema, front.body(schema))
    yield f"REVOKE ALL ON FUNCTION {name}() FROM PUBLIC"
    yield (
        f"CREATE TRIGGER booth INSTEAD OF {' OR '.join(DEEDS)} ON {name} "
        f"FOR EACH ROW EXECUTE FUNCTION {name}()"
    )


def _branch(deed: str, way: str) -> str:
    row = "OLD" if deed == "DELETE" else "NEW"
    return (
        f"    IF TG_OP = '{deed}' THEN\n        {way};\n"
        f"        IF FOUND THEN RETURN {row}; END IF;\n    END IF;\n"
    )


def _columns(table: str) -> tuple[str, ...]:
    if table == REVISION_TABLE:
        return ("version_num",)
    if table == stopped_view.NAME:
        return ("serving_id",)
    return tuple(METADATA.tables[table].columns.keys())


def _rights(words: str) -> dict[str, tuple[str, ...]]:
    return {right: _listed(names) for right, names in RIGHT.findall(words)}


def _listed(names: str) -> tuple[str, ...]:
    return tuple(name.strip() for name in names.split(",") if name.strip())
