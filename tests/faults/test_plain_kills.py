"""The plain booth killed at random moments: nothing it said as kept is missing, nothing is twice.

A thousand kills by hand: `python -m tests.faults.kills 1000 plain`.
"""

from __future__ import annotations

from pathlib import Path

from tests.faults.plain_kills import try_kills

KILLS = 6


def test_what_was_said_as_kept_is_there_once_in_its_order(tmp_path: Path) -> None:
    found = try_kills(KILLS, 12, tmp_path)
    assert len(found.told) >= KILLS // 2
    assert found.kept == found.told
    assert (found.missing, found.doubled) == (0, 0)
