"""Clauses written into a table's own statement change what it does, and are found."""

from __future__ import annotations

import gzip
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

import pytest
from sqlalchemy import create_engine

from panel.store.engine import Store
from panel.store.opening import make_database
from panel.store.shape_check import strange_shapes
from panel.store.shape_clauses import clauses_of
from panel.store.upgrading import upgrade_database

OLD = Path(__file__).parents[1] / "old_houses"
EDITS = {
    "another row goes with it": ("score", "REFERENCES serving (id)", " ON DELETE CASCADE"),
    "looked at late": ("score", "REFERENCES serving (id)", " DEFERRABLE INITIALLY DEFERRED"),
    "the newer of two stays": ("person", "UNIQUE (code)", " ON CONFLICT REPLACE"),
    "the older of two stays": ("person", "UNIQUE (code)", " ON CONFLICT IGNORE"),
    "codes alike": ("person", "code VARCHAR", " COLLATE NOCASE"),
    "a comment": ("person", "code VARCHAR", " /* mine */"),
    "a comment to the line's end": ("person", "code VARCHAR", " -- mine\n"),
}
"""By what it does: the table, after which of its words something is put in, and what."""


@pytest.fixture(scope="module")
def new(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("new") / "house.sqlite"
    make_database(str(path)).close()
    return path


def upgraded(folder: Path, name: str, now: datetime) -> Path:
    path = folder / name
    path.write_bytes(gzip.decompress((OLD / f"{name}.sqlite.gz").read_bytes()))
    path.chmod(0o600)
    upgrade_database(str(path), now=now)
    return path


def strange(path: Path) -> list[str]:
    engine = create_engine(f"sqlite:///{path}")
    with engine.connect() as connection:
        found = strange_shapes(connection)
    engine.dispose()
    return found


def edited(source: Path, folder: Path, table: str, after: str, words: str) -> Path:
    path = folder / "edited.sqlite"
    path.write_bytes(source.read_bytes())
    with closing(sqlite3.connect(path)) as file, file:
        file.execute("PRAGMA writable_schema=ON")
        asked = "SELECT sql FROM sqlite_master WHERE type = 'table' AND name = ?"
        [statement] = file.execute(asked, (table,)).fetchone()
        before, found, rest = statement.partition(after)
        assert found
        changed = f"{before}{found}{words}{rest}"
        file.execute(
            "UPDATE sqlite_master SET sql = ? WHERE type = 'table' AND name = ?", (changed, table)
        )
    return path


@pytest.mark.parametrize("edit", EDITS.values(), ids=EDITS)
def test_a_clause_that_was_put_in_is_found(
    new: Path, tmp_path: Path, edit: tuple[str, str, str]
) -> None:
    found = strange(edited(new, tmp_path, *edit))
    assert any(line.startswith(f"{edit[0]} has a strange c") for line in found)
    assert all(line.startswith(edit[0]) for line in found)


@pytest.mark.parametrize("name", ["house_0001", "house_0002"])
def test_a_house_that_came_up_has_the_clauses_of_a_new_one(
    tmp_path: Path, fixed_now: datetime, name: str
) -> None:
    path = upgraded(tmp_path, name, fixed_now)
    assert strange(path) == []
    words = ("person", "code VARCHAR", " COLLATE NOCASE")
    assert strange(edited(path, tmp_path, *words)) == ["person has a strange clause COLLATE"]


def test_an_index_that_leaves_rows_out_is_found(store: Store) -> None:
    with store.write() as db:
        raw = db.connection()
        raw.exec_driver_sql("DROP INDEX ix_score_change_line")
        raw.exec_driver_sql(
            "CREATE UNIQUE INDEX ix_score_change_line ON score_change "
            "(serving_id, descriptor_version_id) WHERE value > 5"
        )
        found = strange_shapes(raw)
    assert "score_change has a strange clause WHERE" in found
    assert any("ix_score_change_line" in line and "unique" in line for line in found)


def test_texts_and_names_are_no_clauses() -> None:
    statement = "CREATE TABLE \"set\" (a TEXT DEFAULT 'on delete cascade', [match] INT, `desc` INT)"
    assert list(clauses_of(statement)) == []
