"""The view by which a booth learns which glasses are stopped, and nothing else of what is in them.

Whoever calls that a glass is not safe stops every glass of the same draw, under whatever code. What
is the same draw only the key tells, and no booth reads the key: so the database answers, by a view
that gives numbers of glasses. On a server it gives those of the seat that asks, whoever owns it.
Booths know it by its name alone (`panel.store.stopped`).
"""

from __future__ import annotations

import re

from sqlalchemy import DDL, Connection, event, inspect, text

from panel.store.base import Base

NAME = "stopped_glass"
BEHIND = (
    "{key}.session_id = {glass}.session_id AND {key}.code = coalesce({glass}.read_as, {glass}.code)"
    " AND ({key}.tray = '' OR {key}.tray = {whose}.code)"
)
CALLS = (
    "SELECT c.serving_id FROM lead_call c LEFT JOIN draw_stop e ON e.call_id = c.id "
    "WHERE c.reason = 'not safe' AND c.serving_id IS NOT NULL AND e.lifted_at IS NULL"
)
STOPS = "SELECT d.serving_id FROM draw_stop d WHERE d.lifted_at IS NULL"
OURS = "pg_current_xact_id_if_assigned()::text::bigint"
BEYOND = f"((c.xmin::text::bigint - {OURS}) & '4294967295')"
"""How many numbers of transactions lie between ours and the one that wrote a call, around 2^32."""
KEPT = (
    "CASE WHEN pg_current_xact_id_if_assigned() IS NULL THEN true "
    f"WHEN {BEYOND} >= '2147483648' THEN true "
    f"ELSE pg_xact_status(({OURS} + {BEYOND})::text::xid8) <> 'in progress' END"
)
"""Whether a call stands, whatever comes of this transaction: one of ours could still be undone.

A savepoint writes under a number of its own, after that of its transaction (PostgreSQL's manual,
"Transactions and Identifiers"); whoever else's rows are seen has committed them.
"""
STANDING, STANDING_KEPT = f"{CALLS} UNION {STOPS}", f"{CALLS} AND {KEPT} UNION {STOPS}"
"""Glasses that were named: by a call that nobody has lifted, or by a lead."""
UNSETTLED_HERE = (
    "SELECT 1 FROM site_pack b JOIN lead_call h ON h.session_id = b.session_id "
    "LEFT JOIN draw_stop g ON g.call_id = h.id WHERE b.session_id = v.session_id AND b.came "
    "AND h.reason = 'not safe' AND h.serving_id IS NOT NULL AND g.id IS NULL"
)
"""A call that no lead has seen to, in a session that came in a pack: what else holds that spirit
only the key at home tells, so every glass waits."""


GLASSES = (
    "SELECT v.id AS serving_id FROM serving v JOIN person w ON w.id = v.person_id "
    f"LEFT JOIN key_row k ON {BEHIND.format(key='k', glass='v', whose='w')} "
    f"WHERE (v.id IN ({STANDING}) OR EXISTS (SELECT 1 FROM "
    f"({STANDING}) s JOIN serving n ON n.id = s.serving_id JOIN person o ON o.id = n.person_id "
    f"JOIN key_row m ON {BEHIND.format(key='m', glass='n', whose='o')} "
    "WHERE m.session_id = k.session_id AND m.draw_id = k.draw_id)"
    f" OR EXISTS ({UNSETTLED_HERE}))"
)
SEAT = (
    "SELECT t.session_id, t.person_id, r.code AS tray FROM booth_seat t "
    "JOIN panel_session p ON p.id = t.session_id JOIN person r ON r.id = t.person_id "
    "WHERE p.status = 'open' AND "
    "t.token_hash = encode(sha256(convert_to(current_setting('oakpanel.seat', true), 'UTF8')), "
    "'hex')"
)
HELD = (
    "SELECT k.code, k.tray, k.draw_id FROM key_row k "
    "WHERE k.session_id IN (SELECT x.session_id FROM seat x) ORDER BY k.id"
)
"""The session's rows of the key, all of them before the first is looked at.

An index of the key goes by draws: how many rows of it were read until a glass was found would say
where that glass stands among them, and any user is told that count. `id` was drawn by lot.
"""
NAMED = (
    "SELECT n.id, coalesce(n.read_as, n.code) AS code, o.code AS tray FROM serving n "
    "JOIN person o ON o.id = n.person_id "
    "WHERE n.session_id IN (SELECT y.session_id FROM seat y) AND n.id IN ({standing})"
)
DRAWN = (
    "SELECT DISTINCT a.draw_id FROM named e "
    "JOIN held a ON a.code = e.code AND (a.tray = '' OR a.tray = e.tray)"
)
GATHERED = (
    f"WITH seat AS MATERIALIZED ({SEAT}), held AS MATERIALIZED ({HELD}), "
    f"named AS MATERIALIZED ({NAMED.format(standing=STANDING_KEPT)}), "
    f"drawn AS MATERIALIZED ({DRAWN}) "
    "SELECT v.id AS serving_id FROM serving v "
    "JOIN seat s ON s.session_id = v.session_id AND s.person_id = v.person_id "
    "LEFT JOIN held m ON m.code = coalesce(v.read_as, v.code) AND (m.tray = '' OR m.tray = s.tray) "
    "WHERE (v.id IN (SELECT i.id FROM named i) OR m.draw_id IN (SELECT f.draw_id FROM drawn f) "
    f"OR EXISTS ({UNSETTLED_HERE})) ORDER BY v.id"
)
ON_FILE = f"CREATE VIEW {NAME} AS {GLASSES}"
ON_SERVER = f"CREATE OR REPLACE VIEW {NAME} WITH (security_barrier) AS {GATHERED} OFFSET 0"
"""What else is asked of it is asked of its rows alone: neither a plan nor a count tells of more."""
OF_A_SERVER = re.compile(r"""[\s()";]+|::(?:text|name|character varying|bigint|xid8)|\b[a-z_]+\.""")
BY_DIALECT = {"sqlite": ON_FILE, "postgresql": ON_SERVER}


def drop_view(connection: Connection) -> None:
    """Take it away in a file before tables are made anew there; a server keeps it, with rights."""
    if connection.dialect.name == "sqlite":
        connection.execute(text(f"DROP VIEW IF EXISTS {NAME}"))


def mend_view(connection: Connection) -> bool:
    """Make the one of a server anew where it is not as the source has it; say whether it was."""
    asked = text(
        "SELECT definition FROM pg_views WHERE schemaname = current_schema() AND viewname = :name"
    )
    found = connection.scalar(asked, {"name": NAME})
    strange = found is None or not is_as_made(connection.dialect.name, str(found))
    if strange:
        make_view(connection)
    return strange


def make_view(connection: Connection) -> None:
    """Make it, once the tables that it reads are there."""
    if inspect(connection).has_table("draw_stop"):
        drop_view(connection)
        connection.exec_driver_sql(BY_DIALECT[connection.dialect.name])


def is_as_made(dialect: str, definition: str) -> bool:
    """Tell whether a view is the one that the source gives, by what a database says of it.

    A server writes it its own way: compared are the words, without parentheses, kinds and whose a
    column is.
    """
    made = BY_DIALECT[dialect]
    if dialect == "sqlite":
        return definition == made
    return _bare(definition) == _bare(made.partition(" AS ")[2])


def _bare(words: str) -> str:
    return OF_A_SERVER.sub("", words).lower()


for _dialect, _made in BY_DIALECT.items():
    _statement = DDL(_made.replace("%", "%%")).execute_if(dialect=_dialect)  # type: ignore[no-untyped-call]
    event.listen(Base.metadata, "after_create", _statement)
