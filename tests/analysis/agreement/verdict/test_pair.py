"""The word for two named casks on either side of the tolerance, and which word wins over notes."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from analysis.agreement import AgreementSettings
from analysis.agreement.verdict.pair import (
    PairAsked,
    PairFacts,
    PairWord,
    pair_verdict,
    two_casks_verdict,
)
from analysis.agreement.verdict.words import too_near

SETTINGS = AgreementSettings()
NAMED = ("214", "309")
OPEN = PairFacts("smoke", difference=6.0, at_most=15.0, apart=False, more=3, absent=False)


@pytest.mark.parametrize(
    ("told", "word"),
    [
        ({}, PairWord.CANNOT_TELL),
        ({"at_most": 10.0}, PairWord.ALIKE),
        ({"at_most": 10.1}, PairWord.CANNOT_TELL),
        ({"apart": True}, PairWord.APART),
        ({"apart": True, "at_most": 10.0}, PairWord.ALIKE),
        ({"absent": True}, PairWord.ALIKE),
        ({"absent": True, "one_order": True}, PairWord.ALIKE),
        ({"one_order": True, "at_most": 2.0}, PairWord.ORDER),
        ({"one_order": True, "apart": True}, PairWord.ORDER),
        ({"difference": None}, PairWord.CANNOT_TELL),
        ({"at_most": None, "absent": True}, PairWord.CANNOT_TELL),
    ],
)
def test_one_note(told: dict[str, Any], word: PairWord) -> None:
    """Two casks are alike up to the tolerance and with it; one order says nothing of them."""
    assert pair_verdict(NAMED, replace(OPEN, **told), SETTINGS).word is word


@pytest.mark.parametrize(
    ("difference", "said"), [(23.0, "214 above 309"), (-23.0, "309 above 214")]
)
def test_the_higher_of_two_is_named_first(difference: float, said: str) -> None:
    """The difference is the first less the second; the distance has no sign."""
    found = pair_verdict(NAMED, replace(OPEN, difference=difference, apart=True), SETTINGS)
    assert said in found.sentence
    assert "lie 23 points apart" in found.sentence


@pytest.mark.parametrize(
    ("words", "word"),
    [
        (["alike", "apart", "open", "order"], PairWord.APART),
        (["alike", "open", "order"], PairWord.CANNOT_TELL),
        (["alike", "order"], PairWord.ORDER),
        (["alike", "alike"], PairWord.ALIKE),
    ],
)
def test_over_all_notes(words: list[str], word: PairWord) -> None:
    """One note that sets them apart is enough; they are alike only where no note is open."""
    of = {
        "alike": PairWord.ALIKE,
        "apart": PairWord.APART,
        "open": PairWord.CANNOT_TELL,
        "order": PairWord.ORDER,
    }
    notes = [(f"note {at}", of[each]) for at, each in enumerate(words)]
    assert two_casks_verdict(NAMED, notes, None, SETTINGS).word is word


def test_of_two_batches_nobody_is_told_to_choose_one() -> None:
    """A new batch beside the last one is not a choice of two casks, whatever comes out."""
    asked = PairAsked.BATCHES
    cases: tuple[dict[str, Any], ...] = (
        {},
        {"more": None},
        {"at_most": 10.0},
        {"apart": True},
        {"absent": True},
    )
    for told in cases:
        found = pair_verdict(NAMED, replace(OPEN, **told), SETTINGS, asked)
        assert "choose" not in found.next_action
        over = two_casks_verdict(NAMED, [("smoke", found.word)], None, SETTINGS, asked)
        assert "choose" not in over.next_action
        assert found.word is pair_verdict(NAMED, replace(OPEN, **told), SETTINGS).word


def test_a_tolerance_is_told_as_it_was_set() -> None:
    settings = AgreementSettings(tolerance=2.5)
    apart = pair_verdict(NAMED, replace(OPEN, apart=True), settings).sentence
    assert "surely more than 2.5 points" in apart
    near = pair_verdict(NAMED, replace(OPEN, more=None), settings).next_action
    assert near.startswith("at so near 2.5 points a few more sessions")
    over = two_casks_verdict(NAMED, [("smoke", PairWord.APART)], None, settings).sentence
    assert "surely more than 2.5 points apart on smoke" in over
    assert too_near(2.5) == "the samples lie within 2.5 points of one another"
