"""The desk's ranking says the same of a cask as the command does."""

from __future__ import annotations

from dataclasses import replace

from analysis.target import CaskMatch
from panel.desk.target_page import COLUMNS

CASK = CaskMatch("C8", "C8/1", "D-C8", 0.993, 0.2, "ember", 0.4, 40, None)


def test_the_chance_is_rounded_as_everywhere() -> None:
    prob = next(column for column in COLUMNS if column.heading == "Prob.")
    assert prob.show(CASK) == "99 %"
    assert prob.show(replace(CASK, probability=0.9947)) == "99 %"
    assert prob.show(replace(CASK, probability=1.0)) == ">99 %"
    assert prob.show(replace(CASK, probability=0.0)) == "<1 %"


def test_a_sign_stands_behind_a_cask_that_something_is_held_against() -> None:
    cask = COLUMNS[0]
    assert cask.show(CASK) == "C8"
    assert cask.show(replace(CASK, held_against="leaking")) == "C8 !"
