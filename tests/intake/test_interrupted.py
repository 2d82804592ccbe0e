"""A load that is stopped in the middle leaves nothing."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event, func, select

from panel.errors import DatabaseReadOnly, DiskFull
from panel.intake.kinds import Kind
from panel.intake.loading import load_file
from panel.store.engine import Store, connect
from panel.store.log import LogEntry
from panel.store.people import Person
from panel.store.sessions import PanelSession, Score
from tests.intake.files import BY, MAKES, NOW, House, table

LONG = "session,assessor,sample,descriptor,score"
STOPPED = """
import os, sys, signal
from datetime import UTC, datetime
from panel.intake import score_writing
from panel.intake.loading import load_file
from panel.store.opening import open_store

score_writing.PORTION = 500
# Whoever is started in the background inherits that an interrupt is ignored.
signal.signal(signal.SIGINT, signal.default_int_handler)

def stop(done, total):
    if done > total / 2:  # rows are being written
        sys.stdout.write("writing")
        sys.stdout.flush()
        os.kill(os.getpid(), getattr(signal, sys.argv[3]))

store = open_store(sys.argv[1])
now = datetime(2026, 3, 14, tzinfo=UTC)
load_file(store, "scores", sys.argv[2], now=now, by="x", create=True, progress=stop)
sys.stdout.write("done")
"""


def scores(sessions: int = 3) -> str:
    rows = [
        (f"N{night}", f"A{who}", f"S{glass}", f"word {line}", (night + who + glass + line) % 100)
        for night in range(sessions)
        for who in range(8)
        for glass in range(8)
        for line in range(10)
    ]
    return table(LONG, *rows)


def nothing_is_there(store: Store) -> bool:
    with store.read() as db:
        tables = (PanelSession, Score, Person, LogEntry)
        return all(db.scalar(select(func.count()).select_from(one)) == 0 for one in tables)


@pytest.mark.parametrize("signal", ["SIGKILL", "SIGINT"])
def test_a_load_that_is_killed_while_it_writes_leaves_nothing(
    empty: House, tmp_path: Path, signal: str
) -> None:
    path = empty.file(scores())
    database = tmp_path / "panel.sqlite"
    ran = subprocess.run(
        [sys.executable, "-c", STOPPED, str(database), str(path), signal],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    # An interrupt may reach the program a few steps after it was sent; a kill is at once.
    assert ran.stdout.startswith("writing")
    assert "done" not in ran.stdout
    assert ran.returncode != 0
    reopened = connect(empty.store.url)
    assert nothing_is_there(reopened)
    report = load_file(reopened, Kind.SCORES, path, now=NOW, by=BY, create=True)
    assert report.accepted == report.rows == 1_920
    reopened.close()


def test_a_database_that_may_only_be_read(empty: House) -> None:
    readonly = connect(empty.store.url, readonly=True)
    with pytest.raises(DatabaseReadOnly, match="may only be read"):
        load_file(readonly, Kind.MAKES, empty.file(MAKES), now=NOW, by=BY)
    readonly.close()


def test_a_full_disk(empty: House) -> None:
    full = connect(empty.store.url)

    @event.listens_for(full.engine, "connect")
    def limit(connection: Any, _record: object) -> None:
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count={pages + 4}")

    with pytest.raises(DiskFull, match="make room"):
        load_file(full, Kind.SCORES, empty.file(scores()), now=NOW, by=BY, create=True)
    full.close()
    assert nothing_is_there(empty.store)


def test_a_load_that_fails_while_it_writes_leaves_nothing(empty: House) -> None:
    def fail(done: int, total: int) -> None:
        if done > total / 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        load_file(
            empty.store,
            Kind.SCORES,
            empty.file(scores()),
            now=NOW,
            by=BY,
            create=True,
            progress=fail,
        )
    assert nothing_is_there(empty.store)
