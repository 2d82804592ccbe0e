"""The server killed at random moments: nothing that was told as kept is missing, nothing is twice.

A thousand kills by hand: `python -m tests.faults.kills 1000 server`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.server_kills import DEEDS_A_KILL, try_kills

KILLS = 6


@pytest.mark.slow
def test_what_a_page_was_told_is_there_once_in_its_order(tmp_path: Path) -> None:
    found = try_kills(KILLS, 12, tmp_path)
    assert len(found.told) == KILLS * DEEDS_A_KILL
    assert found.kept == found.told
    assert (found.missing, found.doubled) == (0, 0)
