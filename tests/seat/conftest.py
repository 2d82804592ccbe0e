"""An open evening and a clock for tests of the booth."""

from __future__ import annotations

import pytest

from panel.store.engine import Store
from tests.houses.at_the_booth import Wall, open_evening


@pytest.fixture
def wall() -> Wall:
    return Wall()


@pytest.fixture
def evening(store: Store) -> Store:
    open_evening(store)
    return store
