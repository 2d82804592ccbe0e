"""Fifty edits past the program: each is found, and by the way that the table names."""

from __future__ import annotations

import gzip
from collections import Counter
from datetime import datetime

import psycopg
import pytest
from sqlalchemy import text

from panel.own_folder import NAMED
from panel.store.engine import Store
from panel.store.findings import Level, Way
from panel.store.log_findings import log_findings
from panel.store.opening import open_store
from panel.store.upgrading import upgrade_database
from tests.faults.edits import EDITS, Edit, records
from tests.faults.house import KEPT
from tests.faults.trial import Trial, every_column, faults_after, is_found, prepare
from tests.thinned import some


@pytest.fixture(scope="module")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Trial:
    folder = tmp_path_factory.mktemp("edited")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(NAMED, str(folder / "state"))
        return prepare(folder)


@pytest.fixture(autouse=True)
def seen_by_this_account(trial: Trial, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(NAMED, str(trial.state))


def test_the_table_holds_fifty_edits() -> None:
    assert len({edit.name for edit in EDITS}) == len(EDITS) == 50
    assert Counter(edit.way for edit in EDITS) == {Way.FILE: 42, Way.HEAD: 4, Way.SEEN: 4}


def test_the_house_is_sound_before(trial: Trial) -> None:
    assert faults_after(trial, None) == []


@pytest.mark.parametrize(
    "edit",
    [
        pytest.param(edit, id=edit.name, marks=() if at % 3 == 0 else pytest.mark.slow)
        for at, edit in enumerate(EDITS)
    ],
)
def test_it_is_found_by_its_way(trial: Trial, edit: Edit) -> None:
    assert is_found(trial, edit)


@pytest.mark.parametrize("edit", some([*every_column()][::20], 4), ids=lambda edit: edit.name)
def test_some_of_all_columns(trial: Trial, edit: Edit) -> None:
    assert is_found(trial, edit)


def test_an_edit_is_told_in_words(trial: Trial) -> None:
    edit = records("a score", "UPDATE score SET value = 'high' WHERE serving_id = 1")
    rules, fault, scores = faults_after(trial, edit)
    assert rules.about == "integrity"
    assert scores.about == "scores"
    assert fault.words.startswith("Records are not as the log vouches for them. Changed: score 1,")
    assert "fault of ours" not in fault.words


def test_what_the_log_says_of_a_row_is_gone_with_the_nonce(trial: Trial) -> None:
    """Nobody finds a score by trying: beside the value a nonce of 128 bits goes into the digest."""
    edit = records("nonces", "UPDATE score SET row_nonce = NULL")
    [fault] = faults_after(trial, edit)
    assert "more" in fault.words


ON_A_SERVER = (
    ("log", "DELETE FROM log_entry WHERE id = (SELECT max(id) FROM log_entry)"),
    ("log", "DELETE FROM log_entry"),
    ("log", "UPDATE log_entry SET body_json = NULL, nonce_hex = NULL WHERE id = 3"),
    ("records", "UPDATE score SET value = value + 1"),
    ("records", "DELETE FROM person_role WHERE role = 'lead'"),
    ("records", "UPDATE person SET pin_hash = NULL"),
    ("tables", "DROP TABLE mixing_note"),
    ("tables", "ALTER TABLE score DISABLE TRIGGER ALL"),
    ("tables", "ALTER TABLE release DROP CONSTRAINT ck_release_second_person"),
)
"""Edits on a server: under which heading each is found."""


@pytest.mark.slow
def test_a_server_is_looked_at_as_a_file_is(postgres_url: str, fixed_now: datetime) -> None:
    with psycopg.connect(postgres_url, autocommit=True) as server:
        server.execute(gzip.decompress((KEPT.parent / "house_0002.sql.gz").read_bytes()))
    upgrade_database(postgres_url, now=fixed_now)
    store = open_store(postgres_url)
    assert faults_of(store) == set()
    for about, statement in ON_A_SERVER:
        assert about in faults_of(store, statement), statement
    store.close()


def faults_of(store: Store, statement: str | None = None) -> set[str]:
    """Do one edit in a transaction that is looked at and given up."""
    with store.read() as db:
        if statement is not None:
            db.execute(text(statement))
        looked = [*log_findings(db, store.url)]
    return {finding.about for finding in looked if finding.level is Level.FAULT}
