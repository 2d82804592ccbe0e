"""Houses of the questions begin with what was reckoned before in houses like them."""

from __future__ import annotations

import pytest


@pytest.fixture(autouse=True)
def begin_with_kept(kept_before: None) -> None:
    """Ask for it."""
