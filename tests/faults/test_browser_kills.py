"""A browser killed at random moments: what it showed as kept is there, what it held comes back.

A thousand kills by hand: `python -m tests.faults.kills 1000 browser`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.browser_kills import chromium, try_kills


@pytest.mark.parametrize("kills", [2, pytest.param(20, marks=pytest.mark.slow)])
def test_what_stood_as_kept_is_there_and_what_was_held_comes_back(
    tmp_path: Path, kills: int
) -> None:
    if chromium() is None:
        pytest.skip("no Chromium is installed here: `apt-get install chromium`")
    found = try_kills(kills, 12, tmp_path)
    assert len(found.told) >= kills
    assert found.kept == found.told
    assert (found.missing, found.doubled) == (0, 0)
