"""Steps that are kept: taken once for what they find, and never laid over an open database."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from sqlalchemy import select

from panel.store.engine import Store, connect
from panel.store.opening import file_of
from panel.store.people import Person
from tests.houses import kept as keeping
from tests.houses.kept import kept
from tests.houses.parts import person

TAKEN: list[str] = []


@kept
def add_somebody(store: Store, code: str) -> None:
    TAKEN.append(code)
    with store.write() as db:
        db.add(person(code))


def codes(store: Store) -> list[str]:
    with store.read() as db:
        return list(db.scalars(select(Person.code).order_by(Person.id)))


@pytest.fixture(autouse=True)
def nothing_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(keeping, "MADE", {})
    TAKEN.clear()


@pytest.fixture
def another(store: Store) -> Iterator[Store]:
    """Give the same empty database once more, in a file of its own."""
    path = file_of(store.url)
    copied = path.with_name("another.sqlite")
    copied.write_bytes(path.read_bytes())
    made = connect(store.url.set(database=str(copied)))
    yield made
    made.close()


def test_a_step_is_taken_once_for_the_same_file(another: Store, store: Store) -> None:
    for each in (store, another):
        add_somebody(each, "A1")
        add_somebody(each, "A2")
        assert codes(each) == ["A1", "A2"]
    assert TAKEN == ["A1", "A2"]


def test_another_file_or_another_wish_is_another_step(another: Store, store: Store) -> None:
    add_somebody(store, "A1")
    add_somebody(another, "A2")
    add_somebody(another, "A1")
    assert codes(another) == ["A2", "A1"]
    assert TAKEN == ["A1", "A2", "A1"]


def test_nothing_is_laid_over_a_database_that_somebody_reads(another: Store, store: Store) -> None:
    add_somebody(store, "A1")
    elsewhere = connect(another.url)
    with elsewhere.read() as db:
        assert list(db.scalars(select(Person.code))) == []
        add_somebody(another, "A1")
    elsewhere.close()
    assert codes(another) == ["A1"]
    assert TAKEN == ["A1", "A1"]
