"""What is said of how much a question needs, where it can never be answered."""

from __future__ import annotations

import pytest

from analysis.next_glasses import PowerRow, PowerTable
from panel.words.power_words import power_sentence


def asked(points: float) -> PowerTable:
    row = PowerRow("ember", 6, 6, 1, 36, points, 0.5, 0.5, 0.01, 9.0, 0.02, 19.0, 1.0)
    return PowerTable(points, 10.0, 60, 5, (row,), (), (), learned=True, seed=1)


@pytest.mark.parametrize("points", [8.0, 10.0])
def test_of_what_lies_within_the_tolerance_it_is_never_said(points: float) -> None:
    said = power_sentence(asked(points))
    assert "never rightly called surely apart" in said
    assert "8 times in 10" not in said


def test_of_more_than_the_tolerance_each_design_is_told() -> None:
    assert "8 times in 10 by 1 session of 6 assessors" in power_sentence(asked(18.0))
