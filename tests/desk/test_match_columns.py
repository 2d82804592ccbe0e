"""The desk's ranking says the same of a cask as the command does."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.target import CaskMatch
from panel.desk.target_page import COLUMNS, percent

CASK = CaskMatch("C8", "C8/1", "D-C8", 0.993, 0.2, "ember", 0.4, 40, None)


@pytest.mark.parametrize(
    ("probability", "said"),
    [
        *((0.0, "0 %"), (0.004, "<1 %"), (0.4, "40 %"), (0.993, "99 %")),
        *((0.996, ">99 %"), (1.0, "100 %")),
    ],
)
def test_a_chance_is_neither_nought_nor_certain_unless_it_is(probability: float, said: str) -> None:
    assert percent(probability) == said


def test_a_sign_stands_behind_a_cask_that_something_is_held_against() -> None:
    cask = COLUMNS[0]
    assert cask.show(CASK) == "C8"
    assert cask.show(replace(CASK, held_against="leaking")) == "C8 !"
