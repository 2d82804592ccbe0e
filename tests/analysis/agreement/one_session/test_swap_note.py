"""What a person is told of a tray that reads otherwise than it was recorded."""

from __future__ import annotations

import pytest

from analysis.agreement.one_session.swaps import Exchange, Swap
from analysis.agreement.verdict.evening import swap_note


@pytest.mark.parametrize(
    ("swap", "said"),
    [
        (Swap(("W1", "W2"), None, 0.9, 9.0, 3), "Your glasses W1 and W2 read as if they had"),
        (Swap((), None, 0.9, 9.0, 3, kind=Exchange.MOVED, by=1), "had moved on by one glass"),
        (Swap((), None, 0.9, 9.0, 3, kind=Exchange.TRAYS, other="Wren"), "with another"),
    ],
)
def test_every_kind_has_its_sentence_and_nobody_else_is_named(swap: Swap, said: str) -> None:
    note = swap_note(swap)
    assert said in note
    assert "Wren" not in note
    assert "not held against you" in note
