"""Houses as every revision left them, brought up to this version's tables: nothing is lost.

A new revision is kept by a script of its own beside these files, as `make_0001.py` is. What an
answer changes on purpose stands in CHANGED of `comparing.py` with its reason.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, closing
from functools import partial
from gc import collect, freeze
from pathlib import Path
from tempfile import mkdtemp
from typing import Any
from warnings import catch_warnings, simplefilter

import psycopg
import pytest
from click.testing import CliRunner

import panel
from panel.cli.main import group
from tests.conftest import server_database
from tests.old_houses.comparing import CHANGED, differences
from tests.old_houses.questions import AT_THE_GATE, CHECK, QUESTIONS
from tests.store.test_upgrading import newer_program  # noqa: F401 - a fixture

HERE = Path(__file__).parent
VERSIONS = Path(panel.__file__).parent / "store" / "migrations" / "versions"
REVISIONS = sorted(path.name[:4] for path in VERSIONS.glob("[0-9]*.py"))
ENDS = ("house_{}.sqlite.gz", "house_{}.sql.gz", "answers_{}.json", "make_{}.py")
KEPT = [revision for revision in REVISIONS if (HERE / ENDS[0].format(revision)).exists()]
NOT_KEPT_YET: Mapping[str, str] = {}
"""The newest revision at most, and why no house of it is kept yet."""


OF_A_BOOTH_ALONE = {"sign_in_try", "booth_deed", "passing_hold"}
"""Filled for as long as a booth's own user on a server signs in, by booths in browsers only, or by
two noses who passed the same casks."""
OF_THE_MACHINE = {"sqlite", "permissions", "room", "environment"}


def oakpanel(named: str, *words: str) -> Any:
    """Return the JSON document of a command."""
    with catch_warnings():
        # A command leaves its connection to the end of its process, which is not over here.
        simplefilter("ignore", ResourceWarning)
        freeze()  # so that only what the command leaves is looked through
        said = CliRunner().invoke(group, ["--db", named, *words, "--json"])
        collect()
    assert said.exit_code == 0, f"{words}: {said.output} {said.exception}"
    return json.loads(said.stdout)


def rows(named: str, sql: str) -> list[tuple[Any, ...]]:
    if "://" in named:
        with psycopg.connect(named) as server:
            return server.execute(sql.encode()).fetchall()
    with closing(sqlite3.connect(named)) as file:
        return file.execute(sql).fetchall()


def unpacked(name: str) -> bytes:
    return gzip.decompress((HERE / name).read_bytes())


def _placed() -> Iterator[Any]:
    """Every house in a file and on a server; on a server the gate takes the first and the last."""
    for revision in KEPT:
        for where in ("file", "server"):
            at_the_gate = where == "file" or revision in {KEPT[0], KEPT[-1]}
            marks = [] if at_the_gate else [pytest.mark.slow]
            yield pytest.param((revision, where), id=f"{revision}-{where}", marks=marks)


@pytest.fixture(params=_placed(), scope="module")
def placed(request: pytest.FixtureRequest) -> tuple[str, str]:
    """Give a revision, and where its house is put."""
    revision, where = request.param
    return str(revision), str(where)


@pytest.fixture(scope="module")
def put(
    placed: tuple[str, str],
    request: pytest.FixtureRequest,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[Callable[[str], str]]:
    """Give what puts a copy of a kept house in a database of its own and returns where."""
    if placed[1] == "file":
        yield partial(_put_file, tmp_path_factory.mktemp("houses"))
        return
    server = request.getfixturevalue("postgres_server")
    with ExitStack() as databases:
        yield partial(_put_on_server, lambda: databases.enter_context(server_database(server)))


def _put_file(folder: Path, name: str) -> str:
    path = Path(mkdtemp(dir=folder)) / f"{name}.sqlite"
    path.write_bytes(unpacked(f"{name}.sqlite.gz"))
    path.chmod(0o600)
    return str(path)


def _put_on_server(new_database: Callable[[], str], name: str) -> str:
    url = new_database()
    with psycopg.connect(url, autocommit=True) as server:
        # As pg_dump asks: its functions stand before the tables that they read.
        server.execute("SET check_function_bodies = off")
        server.execute(unpacked(f"{name}.sql.gz"))
    return url


@pytest.fixture(scope="module")
def revision(placed: tuple[str, str]) -> str:
    return placed[0]


@pytest.fixture(scope="module")
def upgraded(put: Callable[[str], str], revision: str) -> str:
    """Return where the house of a revision is, brought up to this version's tables."""
    named = put(f"house_{revision}")
    assert rows(named, "SELECT version_num FROM oakpanel_revision") == [(revision,)]
    oakpanel(named, "db", "upgrade")
    assert rows(named, "SELECT version_num FROM oakpanel_revision") == [(REVISIONS[-1],)]
    return named


@pytest.fixture(scope="module")
def answers(revision: str) -> dict[str, Any]:
    """Return what the program of a revision answered on its house."""
    found: dict[str, Any] = json.loads((HERE / ENDS[2].format(revision)).read_text("utf-8"))
    return found


def test_every_revision_on_main_has_a_kept_house() -> None:
    assert REVISIONS[0] == "0001"
    assert set(NOT_KEPT_YET) <= {REVISIONS[-1]} - {"0001"}
    owed = [one for one in REVISIONS if one not in NOT_KEPT_YET]
    absent = [
        end.format(one) for one in owed for end in ENDS if not (HERE / end.format(one)).exists()
    ]
    assert absent == []


def test_the_kept_house_is_filled(put: Callable[[str], str], revision: str) -> None:
    named = put(f"house_{revision}_open")
    where = "sqlite_master WHERE type = 'table'"
    if "://" in named:
        where = "(SELECT table_name AS name FROM information_schema.tables "
        where += "WHERE table_schema = 'public' AND table_type = 'BASE TABLE') t"
    tables = [name for (name,) in rows(named, f"SELECT name FROM {where}")]
    assert len(tables) > 40
    empty = {name for name in tables if not rows(named, f"SELECT 1 FROM {name} LIMIT 1")}
    assert empty <= OF_A_BOOTH_ALONE
    stages = {stage for (stage,) in rows(named, "SELECT status FROM panel_session")}
    assert stages == {"draft", "sealed", "open", "closed", "revealed"}
    assert rows(named, "SELECT count(*) FROM person WHERE code LIKE 'gone-%'") == [(1,)]


@pytest.mark.slow
@pytest.mark.usefixtures("newer_program")
def test_a_house_with_an_open_session_is_left_as_it_is(
    put: Callable[[str], str], revision: str
) -> None:
    named = put(f"house_{revision}_open")
    said = CliRunner().invoke(group, ["--db", named, "db", "upgrade"])
    assert "session winter-5 is open" in str(said.exception)
    assert "session close winter-5" in str(said.exception)
    assert rows(named, "SELECT version_num FROM oakpanel_revision") == [(revision,)]
    assert rows(named, "SELECT name FROM panel_session WHERE status = 'open'") == [("winter-5",)]


@pytest.mark.slow
def test_db_check_is_good(upgraded: str, answers: Mapping[str, Any]) -> None:
    found = oakpanel(upgraded, *CHECK)
    levels = {one["about"]: one["level"] for one in found["findings"]}
    assert {"log", "origins"} <= set(levels)
    ours = {about: level for about, level in levels.items() if about not in OF_THE_MACHINE}
    assert set(ours.values()) == {"good"}
    before = dict(answers["db check"]["counts"])
    assert found["counts"].pop("log_entry") >= before.pop("log_entry")
    assert {name: found["counts"][name] for name in before} == before


def chain_0003(entries: Sequence[tuple[Any, ...]]) -> Iterator[bool]:
    """Say of each entry whether it holds by the rule of 0003, written here anew.

    By that of 0001 and 0002 an entry had nothing that is kept when its person is erased.
    """
    previous = bytes(32)
    for body, nonce, digest, chain, kept in entries:
        told = hashlib.sha256(bytes.fromhex(nonce) + body.encode()).hexdigest() if body else digest
        joined = previous + bytes.fromhex(digest)
        joined += hashlib.sha256(kept.encode()).digest() if kept is not None else b""
        yield told == digest and hashlib.sha256(joined).hexdigest() == chain
        previous = bytes.fromhex(chain)


KEEPS = {revision: revision > "0002" for revision in REVISIONS}
"""Whether an entry of a revision keeps something when its person is erased."""


def test_old_log_entries_hold_by_their_old_rule(
    upgraded: str, revision: str, answers: Mapping[str, Any]
) -> None:
    columns = "body_json, nonce_hex, digest_hex, chain_hex, kept_json"
    old = answers["db check"]["counts"]["log_entry"]
    entries = rows(upgraded, f"SELECT {columns} FROM log_entry ORDER BY id LIMIT {old}")
    assert len(entries) == old > 100
    assert any(body is None for body, *_ in entries)  # those about the person who was erased
    assert {kept is not None for *_, kept in entries} == {KEEPS[revision]}
    assert list(chain_0003(entries)) == [True] * old


def _asked() -> Iterator[Any]:
    for question in QUESTIONS:
        marks = [] if question in AT_THE_GATE else [pytest.mark.slow]
        yield pytest.param(question, marks=marks)


@pytest.mark.parametrize("question", _asked())
def test_it_answers_as_before(
    upgraded: str, revision: str, answers: Mapping[str, Any], question: str
) -> None:
    found = oakpanel(upgraded, *QUESTIONS[question])
    assert list(differences(answers[question], found, question, CHANGED[revision])) == []
