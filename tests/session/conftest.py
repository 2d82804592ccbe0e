"""A furnished house for the tests of sessions."""

from __future__ import annotations

import pytest

from panel.store.engine import Store
from tests.houses.to_plan import furnish


@pytest.fixture
def house(store: Store) -> Store:
    with store.write() as db:
        furnish(db, casks=16, smoky=3)
    return store
