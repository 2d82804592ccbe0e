"""A house with two makes, four casks, three samples, two descriptors and two assessors."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from shutil import copy
from tempfile import TemporaryDirectory

import pytest

from panel.store.engine import Store
from panel.store.opening import open_store
from tests.houses.kept import kept
from tests.intake.files import STOCK, House


@pytest.fixture
def empty(store: Store, tmp_path: Path) -> House:
    return House(store, tmp_path)


@kept
def take_stock(store: Store) -> None:
    with TemporaryDirectory() as folder:
        house = House(store, Path(folder))
        for kind, content in STOCK:
            house.take(kind, content)


@pytest.fixture
def house(empty: House) -> House:
    take_stock(empty.store)
    return empty


@pytest.fixture(scope="module")
def new_house(
    tmp_path_factory: pytest.TempPathFactory, empty_database: Path
) -> Iterator[Callable[[], House]]:
    """Give a way to make many empty houses, for tests of many examples."""
    numbers, stores = count(), []

    def make() -> House:
        folder = tmp_path_factory.mktemp(f"house{next(numbers)}")
        stores.append(open_store(str(copy(empty_database, folder / "panel.sqlite"))))
        return House(stores[-1], folder)

    yield make
    for made in stores:
        made.close()
