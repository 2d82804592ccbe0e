from __future__ import annotations

from typing import cast

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
from analysis.vatting.chance import Expectation
from analysis.vatting.conflict import Conflict
from analysis.vatting.limits import limit_keys
from analysis.vatting.mixture import Mixture, PlanPart
from analysis.vatting.pour import Poured
from analysis.vatting.verdict import (
    conflict_sentence,
    limit_words,
    next_action,
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


@pytest.mark.parametrize(
    ("price", "said"),
    [
        (Price(AGE, 0, 0.015, 0), "of probability"),
        (Price(AGE, 0, 0.0149, 0), "costs nothing that shows"),
    ],
)
def test_a_price_within_the_noise_is_not_told(price: Price, said: str) -> None:
    assert said in price_sentence(price, LIMITS)


def mixture_of(probability: float, foretold: int = 0) -> Mixture:
    """Two casks, of which so many were never nosed; only what the next step asks is told."""
    parts = tuple(
        PlanPart(
            *(f"SW080{n}", f"SW080{n}/1", 200.0, 120.0, 0.5, 0.5, 60.0, 12.0, 0.0, 12.0),
            note=None,
            foretold=n < foretold,
        )
        for n in range(2)
    )
    return Mixture(parts, cast(Poured, None), Expectation((), probability, 0.0, "smoke"), ())


WITHIN, OUT_OF_REACH = Reach(True, 0.0, None, ()), Reach(False, 5.0, "plum", ())


@pytest.mark.parametrize(
    ("mixture", "reach", "loses", "said"),
    [
        (mixture_of(0.5, foretold=1), WITHIN, None, "choose again once you know it"),
        (mixture_of(0.5, foretold=2), WITHIN, None, "choose again once you know them"),
        (mixture_of(0.5, foretold=1), OUT_OF_REACH, None, "choose again once you know it"),
        (mixture_of(0.499, foretold=1), OUT_OF_REACH, None, "change the aim of plum"),
        (mixture_of(0.9), OUT_OF_REACH, None, "change the aim of plum"),
        (mixture_of(0.8), WITHIN, None, "against the target"),
        (mixture_of(0.799), WITHIN, None, "look at smoke first"),
        (mixture_of(0.5), WITHIN, None, "look at smoke first"),
        (mixture_of(0.499), WITHIN, None, "nose the casks again for smoke"),
        (mixture_of(0.375), WITHIN, 0.125, "loosen the age statement of 12 years"),
        (mixture_of(0.375), WITHIN, 0.124, "nose the casks again for smoke"),
    ],
)
def test_what_to_do_next_on_either_side_of_a_threshold(
    mixture: Mixture, reach: Reach, loses: float | None, said: str
) -> None:
    prices = () if loses is None else (Price(AGE, 0, loses, 0),)
    assert said in next_action(mixture, reach, LIMITS, prices)


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
