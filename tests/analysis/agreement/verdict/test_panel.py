"""The word for a note on either side of each threshold; the thresholds are the house's own."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from analysis.agreement import AgreementSettings
from analysis.agreement.verdict.panel import DescriptorFacts, descriptor_verdict
from analysis.agreement.verdict.words import AT_THE_REVEAL, PanelWord

SETTINGS = AgreementSettings()
SOUND = DescriptorFacts(
    descriptor="smoke",
    n_assessors=6,
    n_samples=8,
    n_duplicates=2,
    n_hidden=0,
    reliability=0.9,
    reliability_low=0.7,
    significant=True,
    span=30.0,
    seen_difference=10.0,
    repeat_points=8.0,
    mostly_zero=False,
    reason=None,
)


@pytest.mark.parametrize(
    ("told", "word"),
    [
        ({"reliability": 0.8, "reliability_low": 0.65}, PanelWord.SAFE),
        ({"reliability": 0.799}, PanelWord.SECOND_LOOK),
        ({"reliability_low": 0.649}, PanelWord.SECOND_LOOK),
        ({"reliability_low": None}, PanelWord.SECOND_LOOK),
        ({"n_assessors": 5}, PanelWord.SAFE),
        ({"n_assessors": 4}, PanelWord.SECOND_LOOK),
        ({"alike": True}, PanelWord.SAFE),
        ({"alike": True, "n_assessors": 4}, PanelWord.ALIKE),
        ({"alike": True, "reliability": 0.7}, PanelWord.ALIKE),
        ({"reliability": 0.6}, PanelWord.SECOND_LOOK),
        ({"reliability": 0.599}, PanelWord.CANNOT_TELL),
        ({"significant": False}, PanelWord.CANNOT_TELL),
        ({"significant": False, "reliability": 0.7}, PanelWord.CANNOT_TELL),
        ({"reliability": 0.3, "seen_difference": 20.0}, PanelWord.CANNOT_TELL),
        ({"reliability": 0.3, "seen_difference": 20.1}, PanelWord.DO_NOT),
        ({"reliability": None, "seen_difference": None}, PanelWord.DO_NOT),
    ],
)
def test_on_either_side_of_a_threshold(told: dict[str, Any], word: PanelWord) -> None:
    """What is not told is that of a sound note."""
    assert descriptor_verdict(replace(SOUND, **told), SETTINGS).word is word


@pytest.mark.parametrize(
    ("told", "word"),
    [
        ({"n_assessors": 1}, PanelWord.TOO_LITTLE),
        ({"n_assessors": 2}, PanelWord.SECOND_LOOK),
        ({"n_samples": 5}, PanelWord.TOO_LITTLE),
        ({"n_samples": 6}, PanelWord.SAFE),
        ({"n_duplicates": 1}, PanelWord.TOO_LITTLE),
        ({"n_duplicates": 1, "n_hidden": 1}, PanelWord.TOO_LITTLE),
        ({"seen_difference": 0.0}, PanelWord.ONE_MIND),
        ({"seen_difference": 0.0, "span": 0.0}, PanelWord.ALIKE),
        ({"one_mind": True}, PanelWord.ONE_MIND),
        ({"one_mind": True, "n_duplicates": 1}, PanelWord.TOO_LITTLE),
        ({"one_order": True}, PanelWord.ORDER),
        ({"one_order": True, "n_samples": 5}, PanelWord.ORDER),
        ({"one_order": True, "absent": True, "alike": True, "reliability": 0.1}, PanelWord.ALIKE),
        ({"camps": (("A", "B"), ("C", "D"))}, PanelWord.CAMPS),
        ({"camps": (("A", "B"), ("C", "D")), "n_duplicates": 1}, PanelWord.TOO_LITTLE),
    ],
)
def test_what_stands_instead_of_a_judgement(told: dict[str, Any], word: PanelWord) -> None:
    """However reliable a note looks, these come first."""
    assert descriptor_verdict(replace(SOUND, **told), SETTINGS).word is word


@pytest.mark.parametrize(
    ("told", "action"),
    [
        ({"n_duplicates": 0}, "add 2 more blind duplicates before anybody leans on this note"),
        ({"n_duplicates": 1}, "add 1 more blind duplicate before anybody leans on this note"),
        ({"n_duplicates": 0, "n_hidden": 2}, AT_THE_REVEAL),
        ({"n_samples": 4}, "add 2 more samples in the session before anybody leans on this note"),
        ({"n_assessors": 1}, "add a second assessor before anybody leans on this note"),
    ],
)
def test_what_is_missing_is_asked_for(told: dict[str, Any], action: str) -> None:
    """Duplicates that were poured and not told yet are not asked for again."""
    assert descriptor_verdict(replace(SOUND, **told), SETTINGS).next_action == action


def test_more_sessions_than_this_one() -> None:
    """Five like this one in all are four more."""
    facts = replace(SOUND, significant=False, more=5)
    said = descriptor_verdict(facts, SETTINGS).next_action
    assert said == "4 more sessions like this would do to call like casks alike"


@pytest.mark.parametrize("alike", [True, False])
def test_what_no_two_differ_by_more_than_is_said_to_be_by_all_visits_where_there_are_several(
    alike: bool,
) -> None:
    told = replace(SOUND, significant=False, reliability=0.5, alike=alike, at_most=7.0)
    word = PanelWord.ALIKE if alike else PanelWord.CANNOT_TELL
    for visits, said in (
        (None, "no two differ by more than 7 points"),
        (30.0, "no two, by all visits to them, differ by more than 7 points"),
    ):
        found = descriptor_verdict(replace(told, over_visits=visits), SETTINGS)
        assert found.word is word
        assert said in found.sentence
