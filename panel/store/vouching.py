"""The entry by which an upgrade vouches for every row as it stands: older ones told of none."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import datetime

from sqlalchemy import Connection, select
from sqlalchemy.orm import Session

from panel.store.log import ENTRIES, Written, add_link, canonical, cleared_facts
from panel.store.rows import Key, all_rows, form_of, rows_at
from panel.store.sessions import PanelSession
from panel.store.tables import METADATA
from panel.store.touched import Digests

ACTION = "records taken over"
REVISED = "oakpanel_revised"
"""Where a revision leaves the keys, by table, of rows that it changed (see revision 0004)."""
OLD_FORM = 1
"""The form of the key's hash in which every session was sealed before."""


def bound_tables() -> list[str]:
    """Return the tables whose rows the log vouches for."""
    return [name for name, table in METADATA.tables.items() if "row_nonce" in table.columns]


def vouch_for_all(connection: Connection, *, at: datetime, by: str) -> Written:
    """Write one entry with the digest of every row, and of what was sealed and cleared before."""
    rows: Digests = {}
    for name in bound_tables():
        form = form_of(METADATA.tables[name])
        rows[name] = {form.key_of(row): form.digest(row) for row in all_rows(connection, form)}
    bare = select(ENTRIES.c.id, ENTRIES.c.chain_hex).where(ENTRIES.c.body_json.is_(None))
    cleared = connection.execute(bare.order_by(ENTRIES.c.id)).all()
    kept = {
        "all": True,
        **cleared_facts([(number, chain) for number, chain in cleared]),
        "sealed": _sealed(connection),
    }
    counts = {name: len(told) for name, told in rows.items() if told}
    body = canonical({"at": at.isoformat(), "by": by, "action": ACTION, "rows": counts})
    return add_link(connection, at, body, rows=rows, kept=kept)


def vouch_for_revised(
    connection: Connection, revised: Mapping[str, Sequence[Key]], *, at: datetime, by: str
) -> None:
    """Write one entry with the digests of the rows that a revision changed, if it changed any."""
    rows: Digests = {}
    for name, keys in revised.items():
        form = form_of(METADATA.tables[name])
        told: dict[str, str | None] = {form.key_text(key): None for key in keys}
        told |= {form.key_of(row): form.digest(row) for row in rows_at(connection, form, keys)}
        rows |= {name: told} if told else {}
    if not rows:
        return
    counts = {name: len(told) for name, told in rows.items()}
    body = canonical({"at": at.isoformat(), "by": by, "action": "records revised", "rows": counts})
    add_link(connection, at, body, rows=rows, kept={})


def _sealed(connection: Connection) -> dict[str, dict[str, object]]:
    """Return what sessions were sealed under: the log's word, else what stands beside them."""
    told = _told_sealings(connection)
    with Session(connection) as db:
        asked = select(PanelSession.id, PanelSession.name, PanelSession.key_hash)
        sealed = db.execute(asked.where(PanelSession.key_hash.is_not(None))).all()
    return {
        str(number): {"hash": told.get(name, key_hash), "form": OLD_FORM}
        for number, name, key_hash in sealed
    }


def _told_sealings(connection: Connection) -> dict[str, str]:
    body_json = ENTRIES.c.body_json
    asked = select(body_json).where(body_json.contains('"session sealed"')).order_by(ENTRIES.c.id)
    bodies = [json.loads(body) for body in connection.execute(asked).scalars()]
    return {
        str(body["session"]): str(body["key_hash"])
        for body in bodies
        if body.get("action") == "session sealed" and "key_hash" in body
    }
