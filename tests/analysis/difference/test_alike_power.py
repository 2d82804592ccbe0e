"""Alike is planned by the rule it is said by, and a distance without an end is told without one."""

from __future__ import annotations

from itertools import combinations_with_replacement

import numpy as np
import pandas as pd
import pytest

from analysis.difference import Asked, Difference, Method, assess_difference, plan_difference
from analysis.difference.alike_power import needed_alike_of, power_alike_of
from analysis.difference.assess import p_alike, p_different
from analysis.difference.facts import DifferenceWord
from analysis.difference.repeats import Answers
from analysis.difference.verdict import word_of

PAIRS = Asked(Method.STRONGER, alike_within=1.0)
FOURS = Asked(Method.TWO_AND_TWO, alike_within=1.0)


def _alike(asked: Asked, right: tuple[int, ...], each: int) -> bool:
    answers = Answers(right, (each,) * len(right))
    word = word_of(p_different(answers, asked), p_alike(answers, asked), 0.05)
    return word is DifferenceWord.ALIKE


def _assessed(asked: Asked, right: int, n: int) -> Difference:
    rows = [(f"P{i}", 1, int(i < right), "kept") for i in range(n)]
    frame = pd.DataFrame(rows, columns=["assessor", "set", "right", "status"])
    return assess_difference(frame, asked, ("new", "old"))


def test_what_no_outcome_gives_is_not_promised() -> None:
    outcomes = [*list(combinations_with_replacement(range(13), 3))[::19], (6, 6, 6)]
    assert not any(_alike(PAIRS, right, 12) for right in outcomes)
    plan = plan_difference(PAIRS, 36, 3)
    assert plan.alike_power == 0.0
    assert any(
        "never, whatever is answered; 60 answers of 5 people find it" in said
        for said in plan.said()
    )


@pytest.mark.parametrize(("asked", "people", "each"), [(PAIRS, 4, 12), (FOURS, 8, 12)])
def test_the_plan_promises_what_is_found(asked: Asked, people: int, each: int) -> None:
    rng = np.random.default_rng(3)
    drawn = np.sort(rng.binomial(each, asked.method.guess, (600, people)), axis=1)
    kinds, times = np.unique(drawn, axis=0, return_counts=True)
    # Only what is near chance on the whole can be called alike: the others are not asked again.
    most = 0.65 if asked.method.signed else 0.42
    said = [row.sum() <= most * people * each and _alike(asked, tuple(row), each) for row in kinds]
    found = float(times[np.array(said)].sum() / times.sum())
    # Four standard errors of six hundred sessions, at the most.
    assert power_alike_of(asked, people, each) == pytest.approx(found, abs=0.08)


def test_the_number_needed_is_enough_and_one_person_fewer_is_not() -> None:
    needed = needed_alike_of(PAIRS, 12, 0.8)
    assert needed.first is not None
    people = needed.first // 12
    assert power_alike_of(PAIRS, people, 12) >= 0.8 > power_alike_of(PAIRS, people - 1, 12)


def test_nobody_may_be_there_who_finds_it() -> None:
    # Two in eight find fours d-prime 1 apart on the whole: once in nine sessions none is there.
    assert not _alike(FOURS, (4,) * 8, 12)
    assert _alike(FOURS, (4,) * 16, 12)


def test_answers_of_one_kind_set_no_end_and_say_why() -> None:
    every, none = _assessed(PAIRS, 16, 16), _assessed(PAIRS, 0, 16)
    assert (every.facts.d_prime, every.facts.high) == (None, None)
    assert every.facts.no_end == "all answers name new"
    assert (none.facts.d_prime, none.facts.low) == (None, None)
    said = " ".join(none.said())
    assert "towards old without an upper end: at least 1.16" in said
    assert "16 of 16 answers named old" in said
    assert "12.00" not in said


def test_figures_are_told_towards_the_product_that_is_named() -> None:
    found = _assessed(PAIRS, 4, 30)
    said = " ".join(found.said())
    assert found.facts.d_prime is not None
    assert found.facts.d_prime < 0.0
    assert "d-prime towards old 1.57 (0.71 to 2.52" in said
    assert "different from 21 of one kind on" in said
