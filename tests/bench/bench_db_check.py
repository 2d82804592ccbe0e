"""How long `oakpanel db check` takes on a house with 283,000 scores, each kept at a booth.

Run it: `python -m tests.bench.bench_db_check [SCORES]`. Every score has its row, its line of
history and its own entry in the log, as a booth writes them; the entries are reckoned here and
written at once, since 283,000 saves would take an hour. Aim: 30 s on two cores.
"""

from __future__ import annotations

import secrets
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from resource import RUSAGE_SELF, getrusage
from tempfile import TemporaryDirectory
from time import perf_counter

from sqlalchemy import Connection, Table, insert, update

from panel.store.base import new_nonce
from panel.store.engine import Store
from panel.store.examine import examine
from panel.store.log import ENTRIES, FIRST_LINK, HEADS, canonical, digest_of, link
from panel.store.opening import make_database
from panel.store.rows import form_of, plain_value
from panel.store.tables import METADATA
from panel.store.upgrading import BY
from panel.store.vouching import vouch_for_all

SCORES, LINES, SEATS, AT_ONCE = 283_000, 10, 12, 20_000
NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)
AIM_S = 30.0
Row = dict[str, object]


def furnish(connection: Connection, glasses: int) -> None:
    """Write people, descriptors, sessions and glasses, and vouch for them in one entry."""
    rows: dict[str, list[Row]] = {
        "person": [{"id": n + 1, "code": f"A{n}"} for n in range(SEATS)],
        "descriptor": [{"id": n + 1, "name": f"note {n}"} for n in range(LINES)],
        "descriptor_version": [
            {"id": n + 1, "descriptor_id": n + 1, "version": 1, "stage": "nose"}
            | {"low_words": "none", "high_words": "much", "pools_with_previous": False}
            for n in range(LINES)
        ],
        "panel_session": [{"id": 1, "name": "all", "status": "closed", "loaded": True}],
        "serving": [
            {"id": n + 1, "session_id": 1, "person_id": n % SEATS + 1, "code": str(n // SEATS)}
            for n in range(glasses)
        ],
    }
    for name, new in rows.items():
        connection.execute(insert(METADATA.tables[name]), new)
    vouch_for_all(connection, at=NOW, by=BY)


def score_rows(glasses: int) -> Iterator[tuple[Row, Row]]:
    """Give each score and its line of history."""
    for number in range(glasses * LINES):
        at = NOW + timedelta(seconds=number)
        row: Row = {"serving_id": number // LINES + 1, "descriptor_version_id": number % LINES + 1}
        value = float(number * 37 % 101)
        yield (
            {**row, "value": value, "given_at": at, "row_nonce": new_nonce()},
            {
                **row,
                **{"id": number + 1, "value": value, "changed_at": at, "by_code": "A1"},
                "row_nonce": new_nonce(),
            },
        )


def digest(table: Table, row: Row) -> tuple[str, str]:
    """Return how the log names a row, and the row's digest."""
    form = form_of(table)
    values = [row.get(column.name) for column in form.columns]
    return form.key_of(values), form.digest(values)


def keep_scores(connection: Connection, glasses: int) -> None:
    """Write the scores, and an entry for each."""
    tables = METADATA.tables["score"], METADATA.tables["score_change"]
    entries, previous = connection.execute(HEADS.select()).one()[1:]
    waiting: tuple[list[Row], list[Row], list[Row]] = ([], [], [])
    for pair in score_rows(glasses):
        told = {t.name: dict([digest(t, row)]) for t, row in zip(tables, pair, strict=True)}
        entry = _entry(previous, pair[0]["given_at"], told)
        previous, entries = str(entry["chain_hex"]), entries + 1
        for rows, row in zip(waiting, (*pair, entry), strict=True):
            rows.append(row)
        if len(waiting[0]) == AT_ONCE:
            _write(connection, (*tables, ENTRIES), waiting)
    _write(connection, (*tables, ENTRIES), waiting)
    connection.execute(update(HEADS).values(entries=entries, chain_hex=previous))


def _entry(previous: str, at: object, told: dict[str, dict[str, str]]) -> Row:
    body = canonical({"at": str(at), "by": "A1", "action": "scores kept", "session": "all"})
    kept = canonical({"at": plain_value(at), "rows": told})
    nonce = secrets.token_hex(16)
    hashed = digest_of(nonce, body)
    return {
        **{"written_at": at, "body_json": body, "nonce_hex": nonce, "digest_hex": hashed},
        **{"chain_hex": link(previous or FIRST_LINK, hashed, kept), "kept_json": kept},
    }


def _write(
    connection: Connection, tables: tuple[Table, ...], waiting: tuple[list[Row], ...]
) -> None:
    for table, rows in zip(tables, waiting, strict=True):
        if rows:
            connection.execute(insert(table), rows)
        rows.clear()


def build(path: Path, scores: int) -> Store:
    """Write the house."""
    store = make_database(str(path))
    with store.write() as db:
        furnish(db.connection(), scores // LINES)
        keep_scores(db.connection(), scores // LINES)
    return store


def main() -> None:
    """Build, look, and write how long it took."""
    scores = int(sys.argv[1]) if len(sys.argv) > 1 else SCORES
    with TemporaryDirectory() as folder:
        path = Path(folder) / "house.sqlite"
        store = build(path, scores)
        began = perf_counter()
        found = examine(store)
        took = perf_counter() - began
        store.close()
        size = path.stat().st_size / 2**20
    memory = getrusage(RUSAGE_SELF).ru_maxrss / 1024
    sys.stdout.write(
        f"{found.counts['score']:,} scores, {found.counts['log_entry']:,} entries, {size:,.0f} MiB "
        f"on disk: checked in {took:.1f} s (aim {AIM_S:.0f}), {memory:,.0f} MiB of memory; "
        f"worst finding: {found.worst.value}\n"
    )


if __name__ == "__main__":
    main()
