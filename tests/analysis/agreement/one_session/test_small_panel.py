"""What few people can be asked to decide."""

from __future__ import annotations

import json

import pytest

from analysis.agreement import AgreementSettings, assess_agreement
from tests.houses.worlds import Evening

QUICK = AgreementSettings(permutations=99, bootstraps=99)


@pytest.mark.parametrize(
    ("noise", "said"),
    [(3.0, "choose between casks"), (12.0, "pick out the extremes"), (40.0, "plainly off")],
)
def test_what_a_panel_of_three_is_good_for(noise: float, said: str) -> None:
    evening = Evening(n_assessors=3, noise=noise, interaction=0.5)
    found = assess_agreement(evening.scores(2), settings=QUICK)
    small = found.small_panel
    assert small is not None
    assert small.n_assessors == 3
    assert said in small.sentence
    assert small.seen_difference is not None
    assert small.sentence.endswith(f"{small.next_action}.")
    json.dumps(found.to_dict(), allow_nan=False)


def test_who_repeats_is_named() -> None:
    scores = Evening(n_assessors=3, noise=3.0).scores(2)
    wild = (scores["assessor"] == "P1") & (scores["replicate"] == 2)
    scores.loc[wild, "score"] = (scores.loc[wild, "score"] + 40.0).clip(0.0, 100.0)
    small = assess_agreement(scores, settings=QUICK).small_panel
    assert small is not None
    assert set(small.repeaters) == {"P0", "P2"}
    assert small.repeats_within["P1"] > 40.0
    assert "P0 within" in small.sentence


def test_without_a_repeat_nobody_knows() -> None:
    small = assess_agreement(Evening(n_assessors=3, replicates=1).scores(), settings=QUICK)
    assert small.small_panel is not None
    assert "not known who repeats" in small.small_panel.sentence


def test_five_are_no_small_panel() -> None:
    found = assess_agreement(Evening(n_assessors=5).scores(), settings=QUICK)
    assert found.small_panel is None
    assert found.to_dict()["small_panel"] is None


def test_two_lucky_pairs_are_not_within_nothing() -> None:
    scores = Evening(n_assessors=3, n_notes=1).scores()
    kept = (scores["replicate"] == 1) | scores["sample"].isin(["x0", "x1"])
    scores = scores[kept]
    twice = scores["sample"].isin(["x0", "x1"]) & (scores["assessor"] == "P0")
    scores.loc[twice, "score"] = 50.0
    small = assess_agreement(scores, settings=QUICK).small_panel
    assert small is not None
    assert "P0" not in small.repeats_within
    assert "within 0 points" not in small.sentence
