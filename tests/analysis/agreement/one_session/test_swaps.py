"""Two glasses that changed places: found by glass, weighed in odds, never repaired."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import AgreementSettings, AssessorWord, Swap, assess_agreement
from analysis.agreement.one_session.swaps import exchanged
from analysis.agreement.verdict.swaps import odds_words
from tests.houses.worlds import Evening

QUICK = AgreementSettings(permutations=99, bootstraps=99)
ONE_GLASS = Swap(("x1", "x4"), (1, 2), probability=0.9, odds=9.0, n_notes=6)


def swapped(seed: int = 7) -> pd.DataFrame:
    """One glass of x1 and one of x4 changed places on P2's tray."""
    return exchanged(Evening(n_notes=8).scores(seed), "P2", ONE_GLASS)


def test_one_glass_of_a_repeated_sample_is_found() -> None:
    found = assess_agreement(swapped(), settings=QUICK)
    swap = found.assessor("P2").swap
    assert swap is not None
    assert (swap.samples, swap.replicates) == (("x1", "x4"), (1, 2))
    odds = swap.probability / (1.0 - swap.probability)
    assert swap.odds == pytest.approx(min(odds, 1e6), rel=1e-6)
    assert found.assessor("P2").verdict.word == AssessorWord.REVERSED
    assert [part.assessor for part in found.swaps] == ["P2"]


@pytest.mark.slow
def test_the_verdicts_with_and_without_stand_side_by_side() -> None:
    scores = swapped()
    found = assess_agreement(scores, settings=QUICK)
    (check,) = found.swaps
    straight = assess_agreement(Evening(n_notes=8).scores(7), settings=QUICK)
    assert check.verdict_as_scored == found.verdict.word
    assert check.verdict_exchanged == straight.verdict.word
    assert check.correlation_exchanged == straight.assessor("P2").correlation
    assert check.correlation_as_scored == found.assessor("P2").correlation
    assert check.assessor_exchanged == AssessorWord.WITH
    assert "nothing has been changed" in check.sentence
    assert "odds" in check.sentence
    json.dumps(found.to_dict(), allow_nan=False)


@pytest.mark.slow
def test_nothing_is_repaired_in_silence() -> None:
    """The figures are those of the scores as given, whatever reads as exchanged."""
    scores = swapped()
    before = scores.copy()
    found = assess_agreement(scores, settings=QUICK)
    pd.testing.assert_frame_equal(scores, before)
    straight = assess_agreement(Evening(n_notes=8).scores(7), settings=QUICK)
    f = [part.sample_effect.f for part in found.descriptors]
    assert f != [part.sample_effect.f for part in straight.descriptors]


def marked(scores: pd.DataFrame) -> pd.DataFrame:
    """P3's glasses x0 (first) and x3 (second) marked by the lead."""
    own = scores["assessor"] == "P3"
    one = (scores["sample"] == "x0") & (scores["replicate"] == 1)
    other = (scores["sample"] == "x3") & (scores["replicate"] == 2)
    status = pd.Series("kept", index=scores.index).where(~(own & (one | other)), "swap_suspected")
    return scores.assign(status=status)


@pytest.mark.slow
def test_a_mark_that_the_scores_do_not_bear_out() -> None:
    found = assess_agreement(marked(Evening(n_notes=8).scores(7)), settings=QUICK)
    (check,) = found.swaps
    assert (check.assessor, check.swap.samples) == ("P3", ("x0", "x3"))
    assert check.swap.marked
    assert check.swap.odds < 1e-3
    assert "do not bear the mark out" in check.sentence
    assert found.assessor("P3").verdict.word == AssessorWord.WITH


@pytest.mark.slow
def test_a_mark_that_the_scores_bear_out() -> None:
    pair = Swap(("x0", "x3"), (1, 2), probability=0.9, odds=9.0, n_notes=6)
    scores = marked(Evening(n_notes=8).scores(7))
    changed = exchanged(scores, "P3", pair).assign(status=scores["status"])
    found = assess_agreement(marked(changed.drop(columns="status")), settings=QUICK)
    (check,) = found.swaps
    assert check.swap.marked
    assert check.swap.odds > 100
    assert "marked as exchanged" in check.sentence


@pytest.mark.slow
@pytest.mark.parametrize("noise", [5.0, 10.0])
def test_trays_in_order_are_left_alone(noise: float) -> None:
    """320 trays without a swap: no more than one in a hundred is suspected."""
    evening = Evening(n_notes=6, noise=noise, interaction=4.0)
    lax = AgreementSettings(permutations=1, bootstraps=2)
    found = [assess_agreement(evening.scores(seed), settings=lax) for seed in range(40)]
    assert sum(len(part.swaps) for part in found) <= 3


def test_exchanging_twice_is_no_exchange() -> None:
    scores = Evening().scores()
    for swap in (ONE_GLASS, Swap(("x1", "x4"), None, 0.9, 9.0, 6)):
        twice = exchanged(exchanged(scores, "P2", swap), "P2", swap)
        pd.testing.assert_frame_equal(twice, scores)
        assert not exchanged(scores, "P2", swap).equals(scores)


def test_odds_as_people_say_them() -> None:
    assert odds_words(19.2) == "19 to 1"
    assert odds_words(0.25) == "1 to 4"
    assert odds_words(5e5) == "more than 1000 to 1"
    assert odds_words(1e-5) == "less than 1 to 1000"


def held_back(
    scores: pd.DataFrame, people: tuple[str, ...], samples: tuple[str, ...]
) -> pd.DataFrame:
    """Some samples of some assessors held back by the lead."""
    doubtful = scores["assessor"].isin(people) & scores["sample"].isin(samples)
    return scores.assign(status=doubtful.map({True: "swap_suspected", False: "kept"}))


@pytest.mark.slow
def test_glasses_in_doubt_are_not_used_and_the_verdict_with_them_is_said() -> None:
    scores = Evening(n_notes=2).scores(7)
    found = assess_agreement(held_back(scores, ("P3",), ("x0", "x3")), settings=QUICK)
    without = scores[~((scores["assessor"] == "P3") & scores["sample"].isin(["x0", "x3"]))]
    plain, all_in = (assess_agreement(each, settings=QUICK) for each in (without, scores))
    for note, same in zip(found.descriptors, plain.descriptors, strict=True):
        assert note.sample_effect == same.sample_effect
    waiting = found.waiting
    assert waiting is not None
    assert (waiting.n_scores, waiting.n_glasses, waiting.assessors) == (8, 4, ("P3",))
    assert waiting.verdict_with == all_in.verdict.word
    assert found.left_out == {"swap suspected": 8}
    assert "8 scores on 4 glasses of P3 wait" in waiting.sentence
    assert "stay out" in waiting.sentence
    assert found.to_dict()["waiting"]["verdict_with"] == str(waiting.verdict_with)
    coded = assess_agreement(held_back(scores, ("P3",), ("x0",)), settings=QUICK, coded=True)
    assert coded.waiting is not None
    assert coded.waiting.next_action == "clear them up before the reveal"
    assert plain.waiting is None


def test_notes_whose_verdict_hangs_on_what_waits_are_named() -> None:
    """Two glasses far apart make the difference: without them the rest is alike."""
    scores = Evening(n_notes=1).scores(7)
    people = tuple(sorted(set(scores["assessor"])))
    level = np.random.default_rng(3).normal(45.0, 6.0, len(scores)).round()
    scores["score"] = scores["score"].where(scores["sample"].isin(["x0", "x1"]), level)
    scores.loc[scores["sample"] == "x0", "score"] = 0.0
    found = assess_agreement(held_back(scores, people, ("x0", "x1")), settings=QUICK)
    assert found.waiting is not None
    (hangs,) = found.waiting.changed
    assert hangs.without is found.descriptors[0].verdict.word
    assert hangs.with_them is not hangs.without
    assert f"{hangs.descriptor} would be '{hangs.with_them}'" in found.waiting.sentence


def test_of_who_does_not_wait_a_swap_is_looked_at_once() -> None:
    """P3's glasses wait; the swap on P2's tray is the session's own, not one of what waits."""
    found = assess_agreement(held_back(swapped(), ("P3",), ("x0", "x3")), settings=QUICK)
    assert found.waiting is not None
    assert found.waiting.assessors == ("P3",)
    assert [part.assessor for part in found.swaps] == ["P2"]
    again = assess_agreement(held_back(swapped(), ("P2",), ("x1", "x4")), settings=QUICK)
    assert [part.assessor for part in again.swaps] == ["P2"]
