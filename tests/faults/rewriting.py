"""A colleague who knows the program: the log is written anew so that it fits what was edited.

Written apart from the program, after the words of `panel.store.log` and `panel.store.rows`.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator
from typing import Any

NUMBERS = "REAL", "FLOAT"
Facts = dict[str, Any]


def rewrite(file: sqlite3.Connection, *, drop: int | None = None) -> None:
    """Make every digest, every link and the head fit the rows as they are now."""
    if drop is not None:
        file.execute("DELETE FROM log_entry WHERE id = ?", (drop,))
    last = _last_told(file)
    previous, entries = "0" * 64, 0
    columns = "id, body_json, nonce_hex, digest_hex, kept_json"
    for number, body, nonce, digest, kept in file.execute(
        f"SELECT {columns} FROM log_entry ORDER BY id"
    ).fetchall():
        told = None if kept is None else _compact(_fitting(file, json.loads(kept), number, last))
        whole = body is not None and nonce is not None
        fits = hashlib.sha256(bytes.fromhex(nonce or "") + (body or "").encode()).hexdigest()
        previous, entries = _link(previous, fits if whole else digest, told), entries + 1
        values = (fits if whole else digest, told, previous, number)
        file.execute(
            "UPDATE log_entry SET digest_hex = ?, kept_json = ?, chain_hex = ? WHERE id = ?", values
        )
    file.execute("UPDATE log_head SET entries = ?, chain_hex = ?", (entries, previous))


def _link(previous: str, digest: str, kept: str | None) -> str:
    joined = bytes.fromhex(previous) + bytes.fromhex(digest)
    if kept is not None:
        joined += hashlib.sha256(kept.encode()).digest()
    return hashlib.sha256(joined).hexdigest()


def _compact(facts: Facts) -> str:
    return json.dumps(facts, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def _last_told(file: sqlite3.Connection) -> dict[tuple[str, str], int]:
    """Return which entry tells of each row last."""
    last: dict[tuple[str, str], int] = {}
    for number, kept in file.execute("SELECT id, kept_json FROM log_entry ORDER BY id"):
        for table, rows in json.loads(kept or "{}").get("rows", {}).items():
            last.update({(table, key): number for key in rows})
    return last


def _fitting(
    file: sqlite3.Connection, facts: Facts, number: int, last: dict[tuple[str, str], int]
) -> Facts:
    for table, rows in facts.get("rows", {}).items():
        mine = [key for key in rows if last[table, key] == number]
        now = dict(_digests(file, table)) if mine else {}
        rows.update({key: now.get(key) for key in mine})
    return facts


def _digests(file: sqlite3.Connection, table: str) -> Iterator[tuple[str, str]]:
    shape = file.execute(f"PRAGMA table_info({table})").fetchall()
    key_places = [at for at, one in sorted(enumerate(shape), key=lambda p: p[1][5]) if one[5]]
    for row in file.execute(f"SELECT * FROM {table}"):
        body = {
            one[1]: float(value) if one[2] in NUMBERS and not isinstance(value, str) else value
            for one, value in sorted(zip(shape, row, strict=True), key=lambda pair: pair[0][1])
            if value is not None
        }
        text = json.dumps([table, body], separators=(",", ":"), ensure_ascii=False)
        key = ",".join(str(row[place]) for place in key_places)
        yield key, hashlib.sha256(text.encode()).hexdigest()[:32]
