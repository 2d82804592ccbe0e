"""The revisions from empty give the tables of the models, on both kinds of database."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, text

from panel.errors import StoreError
from panel.store.engine import Store, connect, locate
from panel.store.migrations.write import write_revision
from panel.store.opening import make_database, open_store
from panel.store.places import new_private_file
from panel.store.revisions import HEAD, REVISION_TABLE, REVISIONS
from panel.store.server_check import rules_due, rules_found
from panel.store.tables import METADATA
from panel.store.upgrading import VERSIONS, alembic_config, migrate
from tests.conftest import server_database


def migrated(named: str) -> Store:
    migrate(locate(named))
    return connect(locate(named))


@pytest.fixture
def on_file(tmp_path: Path) -> Iterator[Store]:
    store = migrated(str(tmp_path / "migrated.sqlite"))
    yield store
    store.close()


@pytest.fixture
def on_server(postgres_url: str) -> Iterator[Store]:
    store = migrated(postgres_url)
    yield store
    store.close()


def differences(store: Store) -> list[Any]:
    options = {"version_table": REVISION_TABLE, "compare_type": True}
    with store.engine.connect() as connection:
        return list(
            compare_metadata(MigrationContext.configure(connection, opts=options), METADATA)
        )


def rules(store: Store) -> set[tuple[str, ...]]:
    """Return every rule of every table with its name: what a comparison of columns leaves out."""
    found: set[tuple[str, ...]] = set()
    with store.engine.connect() as connection:
        look = inspect(connection)
        for table in look.get_table_names():
            found.add((table, "pk", str(look.get_pk_constraint(table)["name"])))
            for kind, rows in (
                ("check", look.get_check_constraints(table)),
                ("unique", look.get_unique_constraints(table)),
                ("foreign", look.get_foreign_keys(table)),
                ("index", look.get_indexes(table)),
                ("column", look.get_columns(table)),
            ):
                found |= {(table, kind, *sorted(map(words, row.items()))) for row in rows}
    return found


def words(item: tuple[str, object]) -> str:
    name, value = item
    if isinstance(value, dict):
        value = {key: str(inner) for key, inner in value.items()}
    return f"{name}={value}"


def test_up_from_empty_equals_the_models_in_a_file(on_file: Store) -> None:
    assert differences(on_file) == []


@pytest.mark.slow
def test_up_from_empty_equals_the_models_on_a_server(on_server: Store) -> None:
    assert differences(on_server) == []


@pytest.mark.slow
def test_every_rule_has_the_same_name_and_words_in_a_file(on_file: Store, store: Store) -> None:
    assert rules(on_file) == rules(store)


def test_every_rule_has_the_same_name_and_words_on_a_server(
    on_server: Store, postgres_server: str
) -> None:
    with server_database(postgres_server) as url:
        made = make_database(url)
        assert rules(on_server) == rules(made)
        made.close()


def test_rules_of_rows_and_functions_are_those_of_the_source(
    on_server: Store, postgres_server: str
) -> None:
    with server_database(postgres_server) as url, on_server.read() as db:
        made = make_database(url)
        with made.read() as other:
            due = rules_due(db.connection())
            assert len(due) > 40
            assert rules_found(db.connection()) == rules_found(other.connection()) == due
        made.close()


@pytest.mark.slow
def test_a_migrated_database_opens(on_file: Store) -> None:
    open_store(on_file.url.database).close()


def test_the_revisions_named_in_the_code_are_those_in_the_folder(store: Store) -> None:
    with store.engine.connect() as connection:
        scripts = ScriptDirectory.from_config(alembic_config(connection))
    there = [script.revision for script in scripts.walk_revisions()]
    assert tuple(reversed(there)) == REVISIONS
    assert scripts.get_current_head() == HEAD


def test_names_of_rules_are_given_once() -> None:
    tables = METADATA.tables.values()
    names = [str(rule.name) for table in tables for rule in table.constraints]
    names += [str(index.name) for table in tables for index in table.indexes]
    assert len(names) > 150
    assert sorted(set(names)) == sorted(names)
    assert "None" not in names
    assert all(len(name) <= 63 for name in names)  # PostgreSQL cuts longer ones


NEXT_ONE = f"{len(REVISIONS) + 1:04d}"
NEXT_REVISION = f"""
import sqlalchemy as sa
from alembic import op
revision = "{NEXT_ONE}"
down_revision = "{HEAD}"
branch_labels = None
depends_on = None
def upgrade():
    with op.batch_alter_table("cask") as batch:
        batch.add_column(sa.Column("cooper", sa.String()))
"""


def with_next(folder: Path, last: str = "") -> tuple[Path, Path]:
    folder.mkdir()
    written = folder / f"{NEXT_ONE}_next.py"
    written.write_text(f"{NEXT_REVISION}    {last}\n", encoding="utf-8")
    return VERSIONS, folder


def columns(store: Store) -> set[str]:
    with store.engine.connect() as connection:
        return {column["name"] for column in inspect(connection).get_columns("cask")}


def revision(store: Store) -> str:
    with store.read() as db:
        return str(db.scalar(text(f"SELECT version_num FROM {REVISION_TABLE}")))


@pytest.fixture(params=["file", "server"])
def any_store(request: pytest.FixtureRequest) -> Store:
    name = {"file": "store", "server": "postgres_store"}[request.param]
    made: Store = request.getfixturevalue(name)
    return made


def test_a_further_revision_goes_on_from_the_last(any_store: Store, tmp_path: Path) -> None:
    migrate(any_store.url, versions=with_next(tmp_path / "v"))
    assert "cooper" in columns(any_store)
    assert revision(any_store) == NEXT_ONE


def test_a_failing_revision_leaves_all_as_it_was(any_store: Store, tmp_path: Path) -> None:
    before = rules(any_store)
    broken = with_next(tmp_path / "v", 'op.execute("INSERT INTO no_such_table VALUES (1)")')
    with pytest.raises(StoreError):
        migrate(any_store.url, versions=broken)
    assert rules(any_store) == before
    assert revision(any_store) == HEAD


def test_a_revision_that_leaves_rows_pointing_nowhere_is_undone(
    store: Store, tmp_path: Path
) -> None:
    loose = with_next(
        tmp_path / "v",
        "op.execute(\"INSERT INTO person_name (person_id, full_name) VALUES (7, 'Nobody')\")",
    )
    with pytest.raises(
        StoreError, match=r"1 rows would point to nothing \(the first in person_name"
    ):
        migrate(store.url, versions=loose)
    assert "cooper" not in columns(store)


def test_the_first_revision_is_what_the_models_give_now(tmp_path: Path) -> None:
    """Written anew it does the same: nobody changed a table without its revision."""
    folder = tmp_path / "versions"
    folder.mkdir()
    written = write_revision("first tables", versions=folder)
    assert written.name == "0001_first_tables.py"
    again = tmp_path / "again.sqlite"
    new_private_file(again)
    migrate(locate(str(again)), versions=(folder,))
    kept = migrated(str(tmp_path / "kept.sqlite"))
    fresh = connect(locate(str(again)))
    assert rules(fresh) == rules(kept)
    fresh.close()
    kept.close()
