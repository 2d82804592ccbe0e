from __future__ import annotations

import pytest

from analysis.vatting import (
    LimitKey,
    LimitKind,
    Limits,
    Price,
    Reach,
    ReachedLine,
    Share,
    StandIn,
)
from analysis.vatting.conflict import Conflict
from analysis.vatting.limits import limit_keys
from analysis.vatting.verdict import (
    conflict_sentence,
    limit_words,
    price_sentence,
    quality_sentence,
    reach_sentence,
    stand_in_sentence,
)

LIMITS = Limits(
    bottles=6000,
    age_statement_years=12,
    shares=(Share.about("wood", "oak butt", 0.3),),
    casks_max=40,
    must_include=("SW0801",),
)
AGE = LimitKey(LimitKind.AGE)


def test_every_limit_has_words() -> None:
    words = [limit_words(key, LIMITS) for key in limit_keys(LIMITS)]
    assert words == [
        "6,000 bottles of 700 mL",
        "at most 3 % over 6,000 bottles of 700 mL",
        "the bottling strength of 46 % vol",
        "the age statement of 12 years",
        "the share wood oak butt 29 to 31 % by bulk litres",
        "at most 40 casks",
        "taking casks whole",
        "cask SW0801 being in",
    ]


@pytest.mark.parametrize(
    ("price", "said"),
    [
        (Price(AGE, 12, 0.08, 0), "costs 12 casks to choose from and 0.08 of probability."),
        (Price(AGE, 1, 0.0, 0), "costs 1 cask to choose from, and no probability that shows."),
        (Price(AGE, 0, 0.2, 0), "costs 0.20 of probability."),
        (Price(AGE, 0, -0.01, 0), "costs nothing that shows."),
    ],
)
def test_the_price_of_a_limit_in_words(price: Price, said: str) -> None:
    assert price_sentence(price, LIMITS) == f"The age statement of 12 years: {said}"


def test_a_conflict_in_words() -> None:
    keys = (LimitKey(LimitKind.QUANTITY), AGE, LimitKey(LimitKind.SHARE, 0))
    said = conflict_sentence(Conflict(keys, proven=True), LIMITS)
    assert said.startswith(
        "No vatting exists: 6,000 bottles of 700 mL, the age statement of 12 years and the share"
    )
    assert "not proven" in conflict_sentence(Conflict(keys, proven=False), LIMITS)
    assert "No vatting was found" in conflict_sentence(Conflict((), proven=False), LIMITS)


def test_how_good_an_answer_is_names_its_band() -> None:
    assert quality_sentence(0.0, True, 0.0).startswith("Proven for the tolerance:")
    said = quality_sentence(0.25, False, 1.5)
    assert said.startswith("Not proven for the tolerance drawn in by 1.5 standard deviations")
    assert "0.250 points" in said


def test_what_stops_a_target_in_words() -> None:
    smoke = ReachedLine("smoke", 40.0, 5.0, 31.0, 4.0, 2.0, 33.0)
    plum = ReachedLine("plum", 20.0, 5.0, 26.0, 1.0, 2.0, 60.0)
    said = reach_sentence(Reach(False, 5.0, "smoke", (plum, smoke)))
    assert "smoke stops it, 31.0 at the nearest for 40 ± 5 (no cask has more than 33.0)" in said
    assert said.endswith("beside it plum, 26.0 at the nearest for 20 ± 5.")


def test_a_stand_in_in_words() -> None:
    found = StandIn("SW0801", "SW0815", 180.04, 0.84)
    assert stand_in_sentence(found) == (
        "If cask SW0801 fails, take 180.0 L of cask SW0815: the chance is then 84 in 100."
    )
    assert "no single cask" in stand_in_sentence(StandIn("SW0801", None, None, None))
