"""A rule of some rows is said in the words of the database that its table is made in."""

from __future__ import annotations

import subprocess
import sys

import pytest
from sqlalchemy import create_mock_engine, make_url

from panel.store.casks import FillingEvent


@pytest.mark.parametrize("server", ["sqlite://", "postgresql+psycopg://"])
def test_an_event_without_a_parent_is_told_once(server: str) -> None:
    said: list[str] = []
    spoken = make_url(server).get_dialect()()
    engine = create_mock_engine(
        server, lambda made, *_, **__: said.append(str(made.compile(dialect=spoken)))
    )
    FillingEvent.metadata.create_all(
        engine, tables=[FillingEvent.metadata.tables["filling_event"]], checkfirst=False
    )
    [rule] = [each for each in said if "uq_filling_event_told_once_alone" in each]
    assert rule.startswith("CREATE UNIQUE INDEX")
    assert rule.endswith("WHERE parent_filling_id IS NULL")


def test_tables_load_no_server() -> None:
    asked = "import sys, panel.store.tables; print('sqlalchemy.dialects.postgresql' in sys.modules)"
    told = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "False"
