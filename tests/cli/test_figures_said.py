"""How figures stand in sentences and tables."""

from __future__ import annotations

from panel.words.answers import number


def test_no_minus_stands_before_a_nought() -> None:
    assert [number(value, 1) for value in (-0.04, 0.0, -0.06, None)] == ["0.0", "0.0", "-0.1", "-"]
