"""A small house and a driver for the desk."""

from __future__ import annotations

import pytest

from panel.clock import Clock
from panel.desk.app import DeskApp
from panel.store.engine import Store
from tests.desk.house import build


@pytest.fixture
def house(store: Store) -> Store:
    """Give a database with a few records."""
    build(store)
    return store


@pytest.fixture
def desk(house: Store, clock: Clock) -> DeskApp:
    """Give a desk over the small house, where LD leads."""
    return DeskApp(house, by="LD", clock=clock)
