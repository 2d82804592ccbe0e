"""The trial of edits: each on a fresh copy of the house, each to be found by its own way.

`python -m tests.faults.trial` runs the large form: the fifty edits, then every column of every
table changed, and of every table a row taken away and one entry in ten of the log changed.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlalchemy import Float, Table

from panel.own_folder import NAMED
from panel.store.examine import examine
from panel.store.findings import Finding, Level, Way
from panel.store.opening import open_store
from panel.store.tables import METADATA
from panel.store.vouching import bound_tables
from tests.faults.edits import EDITS, Edit, log, records
from tests.faults.house import build


@dataclass(frozen=True)
class Trial:
    """The house as it was, the folder with what this account saw of it, and a head on paper."""

    house: Path
    state: Path
    printed: str


def prepare(folder: Path) -> Trial:
    """Build the house; the state folder is that which the program uses now."""
    house = folder / "house.sqlite"
    printed = build(house)
    return Trial(house, Path(os.environ[NAMED]), printed)


def faults_after(trial: Trial, edit: Edit | None) -> list[Finding]:
    """Do one edit on the house itself, look, and put the house back as it was."""
    kept = trial.house.with_suffix(".kept")
    shutil.copy(trial.house, kept)
    try:
        if edit is not None:
            with closing(sqlite3.connect(trial.house)) as file, file:
                file.execute("PRAGMA ignore_check_constraints=ON")
                edit.do(file)
        store = open_store(str(trial.house))
        head = trial.printed[:16] if edit is not None and edit.way is Way.HEAD else None
        found = examine(store, head)
        store.close()
    finally:
        for end in ("-wal", "-shm"):
            trial.house.with_name(trial.house.name + end).unlink(missing_ok=True)
        kept.replace(trial.house)
    return [finding for finding in found.findings if finding.level is Level.FAULT]


def is_found(trial: Trial, edit: Edit) -> bool:
    """Say whether an edit is found under its heading, and one of the log not without a head."""
    faults = faults_after(trial, edit)
    about = {finding.about for finding in faults}
    by_file = any(finding.way is Way.FILE for finding in faults)
    return edit.about in about and by_file is (edit.way is Way.FILE)


def every_column() -> Iterator[Edit]:
    """Give an edit of each column of each table, and the loss of a row of each."""
    for name in bound_tables():
        table = METADATA.tables[name]
        row = f"rowid = (SELECT min(rowid) FROM {name})"
        for column in table.columns:
            new = _other(table, column.name)
            yield records(
                f"{name}.{column.name}", f"UPDATE {name} SET {column.name} = {new} WHERE {row}"
            )
        yield records(f"a row of {name}", f"DELETE FROM {name} WHERE {row}")


def _other(table: Table, column: str) -> str:
    kind = table.columns[column].type
    if isinstance(kind, Float):
        return f"coalesce({column}, 0) + 0.0001"
    if kind.python_type in (int, bool):
        return f"coalesce({column}, 0) + 7000"
    return f"coalesce({column}, '') || 'x'"


def every_tenth_entry(house: Path) -> Iterator[Edit]:
    """Give a changed entry of the log, at every tenth of it, column by column in turn."""
    columns = ("body_json", "nonce_hex", "digest_hex", "chain_hex", "kept_json", "written_at")
    with closing(sqlite3.connect(house)) as file:
        asked = "SELECT id, body_json IS NULL FROM log_entry ORDER BY id"
        numbers = file.execute(asked).fetchall()
    for place, (number, cleared) in enumerate(numbers[::10]):
        # An entry that was cleared before the upgrade kept its time nowhere else.
        column = columns[place % (len(columns) - cleared)]
        yield log(
            f"entry {number}, {column}",
            f"UPDATE log_entry SET {column} = coalesce({column}, '') || '0' WHERE id = {number}",
        )


def main() -> None:
    """Run the large form and write what was missed."""
    with TemporaryDirectory() as folder:
        os.environ[NAMED] = str(Path(folder) / "state")
        trial = prepare(Path(folder))
        if faults_after(trial, None):
            sys.exit("the house is not sound before any edit")
        tried, found = Counter[str](), Counter[str]()
        large = (*every_column(), *every_tenth_entry(trial.house))
        for kind, edits in (("fifty", EDITS), ("large", large)):
            for edit in edits:
                tried[kind] += 1
                found[kind] += is_found(trial, edit)
                if found[kind] + len(missed) < tried[kind]:
                    missed.append(edit.name)
        for kind, number in tried.items():
            sys.stdout.write(f"{kind}: {found[kind]} found of {number}\n")
        sys.stdout.write("".join(f"missed: {name}\n" for name in missed))
        sys.exit(1 if missed else 0)


missed: list[str] = []
if __name__ == "__main__":
    main()
