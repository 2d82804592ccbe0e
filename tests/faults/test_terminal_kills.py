"""The booth in a terminal killed at random moments: what a screen showed as kept is there, once.

A thousand kills by hand: `python -m tests.faults.kills 1000 terminal`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.terminal_kills import try_kills
from tests.thinned import some


@pytest.mark.parametrize("kills", some([6, 20], 2))
def test_what_stood_as_kept_is_there_once_in_its_order(kills: int, tmp_path: Path) -> None:
    found = try_kills(kills, 12, tmp_path)
    assert len(found.told) >= kills // 2
    assert found.kept == found.told
    assert (found.missing, found.doubled) == (0, 0)
