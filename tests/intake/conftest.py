"""A house with two makes, four casks, three samples, two descriptors and two assessors."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest

from panel.store.engine import Store
from panel.store.opening import make_database
from tests.intake.files import STOCK, House


@pytest.fixture
def empty(store: Store, tmp_path: Path) -> House:
    return House(store, tmp_path)


@pytest.fixture
def house(empty: House) -> House:
    for kind, content in STOCK:
        empty.take(kind, content)
    return empty


@pytest.fixture(scope="module")
def new_house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[[], House]]:
    """Give a way to make many empty houses, for tests of many examples."""
    numbers, stores = count(), []

    def make() -> House:
        folder = tmp_path_factory.mktemp(f"house{next(numbers)}")
        stores.append(make_database(str(folder / "panel.sqlite")))
        return House(stores[-1], folder)

    yield make
    for made in stores:
        made.close()
