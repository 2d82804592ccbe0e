"""A cask that lies on the cut is not said to be moved over it by a glass that hardly tells."""

from __future__ import annotations

import pytest

from analysis.next_glasses.changes import _over


def test_a_glass_that_hardly_moves_a_cask_on_the_cut_changes_nothing() -> None:
    assert _over(0.0, 0.05) < 1e-6
    # One that moves it far makes it a matter of even odds, nearly.
    assert _over(0.0, 10.0) == pytest.approx(0.49, abs=0.01)
    assert _over(3.0, 0.0) == 0.0
