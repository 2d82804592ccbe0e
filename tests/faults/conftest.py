"""A clock for tests of booths that something happens to."""

from __future__ import annotations

import pytest

from tests.houses.at_the_booth import Wall


@pytest.fixture
def wall() -> Wall:
    return Wall()
