"""A furnished house for the tests of sessions."""

from __future__ import annotations

import pytest

from panel.store.engine import Store
from tests.houses.to_plan import build_to_plan


@pytest.fixture
def house(store: Store) -> Store:
    build_to_plan(store, casks=16, smoky=3)
    return store
