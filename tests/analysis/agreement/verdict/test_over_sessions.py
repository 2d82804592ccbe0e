"""The word for a note over several sessions on either side of each threshold."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from analysis.agreement import AgreementSettings
from analysis.agreement.verdict.over_sessions import OverFacts, reliability_word
from analysis.agreement.verdict.words import PanelWord

SOUND = OverFacts(
    descriptor="smoke",
    n_sessions=5,
    n_samples=20,
    n_duplicates=8,
    n_assessors=6,
    reliability=0.9,
    reliability_low=0.7,
    seen_difference=10.0,
)


@pytest.mark.parametrize(
    ("told", "word"),
    [
        ({"reliability": 0.8, "reliability_low": 0.65}, PanelWord.SAFE),
        ({"reliability": 0.799}, PanelWord.SECOND_LOOK),
        ({"reliability_low": 0.649}, PanelWord.SECOND_LOOK),
        ({"n_assessors": 5}, PanelWord.SAFE),
        ({"n_assessors": 4}, PanelWord.SECOND_LOOK),
        ({"n_samples": 6, "n_duplicates": 2}, PanelWord.SAFE),
        ({"n_samples": 5}, PanelWord.TOO_LITTLE),
        ({"n_duplicates": 1}, PanelWord.TOO_LITTLE),
        ({"reliability": 0.6, "alike": True}, PanelWord.SECOND_LOOK),
        ({"reliability": 0.599, "alike": True}, PanelWord.ALIKE),
        ({"reliability": 0.599, "seen_difference": 20.0}, PanelWord.CANNOT_TELL),
        ({"reliability": 0.599, "seen_difference": 20.1}, PanelWord.DO_NOT),
        ({"reliability": 0.599, "seen_difference": None}, PanelWord.DO_NOT),
    ],
)
def test_on_either_side_of_a_threshold(told: dict[str, Any], word: PanelWord) -> None:
    """What is not told is that of a sound note."""
    assert reliability_word(replace(SOUND, **told), AgreementSettings()) is word
