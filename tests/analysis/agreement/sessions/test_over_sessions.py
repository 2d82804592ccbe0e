"""What the one model over several sessions says of a panel and of its people."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.agreement import AgreementSettings, AssessorWord, NoteOverSessions, over_sessions
from analysis.agreement.sessions.model_draws import Draws, PanelFit, drawn, reliability_low
from analysis.agreement.sessions.one_model import _people
from analysis.errors import NoScoresError
from analysis.profile import ProfileSettings, estimate_profile
from tests.examples import examples
from tests.houses.people import NOTE, House, draw

QUICK = AgreementSettings(bootstraps=299)


def read(scores: pd.DataFrame) -> NoteOverSessions:
    return over_sessions(scores, settings=QUICK)[NOTE]


def test_reliability_is_the_closed_form_of_the_profile_s_figures() -> None:
    scores, _ = draw(House(), 3)
    everybody = sorted(set(scores["assessor"]))
    found = over_sessions(scores, settings=QUICK, panel=everybody)[NOTE]
    profile = estimate_profile(scores, settings=ProfileSettings(joint=False, inflate=False))
    fit, people = profile.fit(NOTE), profile.assessors
    assert fit.between is not None
    noise = people["noise"] ** 2 + fit.variances["assessor_sample"]
    w = float((people["scale"] ** 2 / noise).sum())
    assert found.reliability == pytest.approx(fit.between * w / (1.0 + fit.between * w))
    assert found.seen_difference == pytest.approx(2.8 * np.sqrt(2.0 / w))
    shares = dict(zip(people["assessor"], people["signal_share"], strict=True))
    assert {name: part.signal_share for name, part in found.people.items()} == shares


@pytest.mark.slow
def test_the_lower_bound_is_passed_about_one_time_in_ten() -> None:
    """The full count is that of tests/bench/bench_over_sessions.py; 16 houses of each kind here.

    Five or more of 16 would come in 2 of 100 runs if one in ten were true.
    """
    for house in (House(n_sessions=4), House(n_sessions=4, spread=4.0)):
        below = 0
        for seed in range(16):
            scores, truth = draw(house, seed)
            found = read(scores)
            assert found.reliability is not None
            assert found.reliability_low is not None
            below += truth.reliability < found.reliability_low
        assert below < 5


def test_a_panel_that_tells_nothing_apart_is_never_called_reliable() -> None:
    for seed in range(6):
        found = read(draw(House(spread=1e-6), seed)[0])
        assert found.reliability is not None
        assert found.reliability < QUICK.second_look_reliability
        assert found.not_judging(QUICK) == "the panel as a whole did not tell the samples apart"


def test_fewer_samples_leave_more_open() -> None:
    one = np.ones(6)
    known = PanelFit(
        names=tuple("ABCDEF"),
        in_panel=one > 0,
        scale=one,
        scale_se=0.1 * one,
        noise=5.0 * one,
        noise_log_sd=0.1 * one,
        flat=0.0 * one,
        reversed_=0.0 * one,
        signal_share=0.8 * one,
        between=100.0,
        between_noise=5.0,
        between_df=100.0,
        disagreement=10.0,
        disagreement_df=20.0,
    )
    few = replace(known, between_df=4.0)
    lows = []
    for fit in (known, few):
        rng = np.random.default_rng(1)
        lows.append(reliability_low(fit, drawn(fit, 999, rng), rng))
    assert lows[1] < lows[0] < known.between * known.weight / (1 + known.between * known.weight)


def test_who_smells_nothing_of_it_is_given_no_word() -> None:
    scores, _ = draw(House(n_sessions=10, scale_sd=0.1, absent=0.0), 5)
    nothing = scores["assessor"] == "P00"
    noise = np.random.default_rng(1).normal(45.0, 6.0, int(nothing.sum()))
    scores.loc[nothing, "score"] = noise.round()
    person = read(scores).people["P00"]
    assert person.p_flat > 0.8
    assert person.p_with < 0.05
    assert person.word(QUICK) is None


def test_the_wrong_way_round_makes_nobody_else_look_wide() -> None:
    scores, _ = draw(House(n_sessions=10, scale_sd=0.1), 5)
    reversed_ = scores["assessor"] == "P01"
    scores.loc[reversed_, "score"] = 100.0 - scores.loc[reversed_, "score"]
    found = {name: part.word(QUICK) for name, part in read(scores).people.items()}
    assert found.pop("P01") is AssessorWord.REVERSED
    assert AssessorWord.WIDER not in found.values()
    assert list(found.values()).count(AssessorWord.WITH) >= 5


def test_a_wide_line_a_narrow_line_and_an_unsteady_nose() -> None:
    scores, _ = draw(House(n_sessions=10, scale_sd=0.0, noise_ratio=1.0), 2)
    rng = np.random.default_rng(2)
    middle, stretch = 45.0, {"P02": 1.5, "P04": 0.6}
    wide = scores["assessor"].map(stretch).fillna(1.0)
    scores["score"] = middle + wide * (scores["score"] - middle)
    shaky = scores["assessor"] == "P06"
    scores.loc[shaky, "score"] += rng.normal(0.0, 18.0, int(shaky.sum()))
    scores["score"] = scores["score"].clip(0.0, 100.0)
    found = {name: part.word(QUICK) for name, part in read(scores).people.items()}
    assert found.pop("P02") is AssessorWord.WIDER
    assert found.pop("P04") is AssessorWord.NARROWER
    assert found.pop("P06") is AssessorWord.UNSTEADY
    assert set(found.values()) == {AssessorWord.WITH}


def test_one_session_has_a_reason_instead() -> None:
    scores, _ = draw(House(n_sessions=1), 1)
    found = read(scores)
    assert found.reliability is None
    assert found.reason == "scored in one session only"
    assert found.people == {}
    assert not found.leads


def test_every_score_the_same_is_a_reason() -> None:
    scores, _ = draw(House(n_sessions=2), 1)
    found = read(scores.assign(score=50.0))
    assert found.reliability is None
    assert found.reason == "every score is the same (50)"
    with pytest.raises(NoScoresError):
        read(scores.assign(status="void"))


def test_mostly_zero_notes_lead_no_verdict() -> None:
    scores, _ = draw(House(), 1)
    scores["score"] = scores["score"].where(scores["score"] > 55.0, 0.0)
    found = read(scores)
    assert found.mostly_zero
    assert not found.leads
    assert "permutation" in (found.not_judging(QUICK) or "")


def test_a_code_in_two_sealed_sessions_is_two_samples() -> None:
    scores, _ = draw(House(n_sessions=3), 4)
    scores["sample"] = scores["sample"].where(scores["kind"] == "reference", "417")
    kept = scores.drop_duplicates(["session", "assessor", "sample"])
    as_one = over_sessions(kept, settings=QUICK)[NOTE]
    apart = over_sessions(kept, settings=QUICK, coded=("S01", "S02"))[NOTE]
    assert (as_one.n_samples, apart.n_samples) == (1, 3)


def test_the_panel_asked_for_is_the_panel_told_of() -> None:
    scores, _ = draw(House(), 6)
    some = over_sessions(scores, settings=QUICK, panel=("P00", "P01", "P02"))[NOTE]
    everybody = sorted(set(scores["assessor"]))
    whole = over_sessions(scores, settings=QUICK, panel=everybody)[NOTE]
    assert (some.n_assessors, whole.n_assessors) == (3, 8)
    assert some.reliability is not None
    assert whole.reliability is not None
    assert some.reliability < whole.reliability
    assert set(some.people) == set(whole.people)


@settings(max_examples=examples(8), deadline=None)
@given(seed=st.integers(0, 10**6))
def test_the_order_of_rows_changes_nothing(seed: int) -> None:
    scores, _ = draw(House(n_sessions=3, n_assessors=5), seed)
    one, other = read(scores), read(scores.sample(frac=1.0, random_state=seed))
    assert one.reliability == pytest.approx(other.reliability)
    assert one.reliability_low == pytest.approx(other.reliability_low)
    assert [part.word(QUICK) for part in one.people.values()] == [
        other.people[name].word(QUICK) for name in one.people
    ]


def one_of_each(share: float, scale: float) -> float:
    """How surely somebody reads with the panel whose every draw has one signal share."""
    one, noise = np.ones(1), np.sqrt(scale**2 * (1.0 / share - 1.0))
    fit = PanelFit(
        names=("A",),
        in_panel=np.array([True]),
        scale=scale * one,
        scale_se=0.1 * one,
        noise=noise * one,
        noise_log_sd=0.1 * one,
        flat=0.0 * one,
        reversed_=0.0 * one,
        signal_share=share * one,
        between=1.0,
        between_noise=0.1,
        between_df=5.0,
        disagreement=0.0,
        disagreement_df=5.0,
    )
    draws = Draws(np.ones(9), np.zeros(9), np.full((9, 1), scale), np.full((9, 1), noise))
    tests = pd.DataFrame({"assessor": ["A"] * 3, "session": ["S1", "S1", "S2"]})
    return _people(fit, draws, tests, AgreementSettings())["A"].p_with


def test_with_the_panel_is_more_than_a_quarter_of_the_variance_the_right_way_round() -> None:
    assert one_of_each(0.26, 1.0) == 1.0
    assert one_of_each(0.24, 1.0) == 0.0
    assert one_of_each(0.9, -1.0) == 0.0
