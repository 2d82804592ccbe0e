from __future__ import annotations

import json
from datetime import date

import numpy as np
import pandas as pd
import pytest

from analysis.errors import FrameError, NoScoresError
from analysis.profile import ProfileSettings, estimate_profile
from tests.houses.worlds import Evening, Years


@pytest.fixture(scope="module")
def years() -> tuple[pd.DataFrame, np.ndarray]:
    return Years().draw()


def truth_of(estimates: pd.DataFrame, truth: np.ndarray) -> np.ndarray:
    samples = estimates["sample"].str[1:].astype(int).to_numpy()
    notes = estimates["descriptor"].str[5:].astype(int).to_numpy()
    found: np.ndarray = truth[samples, notes]
    return found


def test_nearer_the_truth_than_raw_means(years: tuple[pd.DataFrame, np.ndarray]) -> None:
    scores, truth = years
    found = estimate_profile(scores).estimates
    wanted = truth_of(found, truth)
    error = np.sqrt(np.mean((found["estimate"] - wanted) ** 2))
    raw = np.sqrt(np.mean((found["raw_mean"] - wanted) ** 2))
    assert error < 0.8 * raw


@pytest.mark.slow
def test_standard_errors_are_honest() -> None:
    """Over several worlds the truth lies within 1.96 standard errors about 95 times in 100."""
    inside = []
    for seed in range(6):
        scores, truth = Years().draw(seed)
        found = estimate_profile(scores).estimates
        z = (found["estimate"] - truth_of(found, truth)) / found["se"]
        inside.append(float((z.abs() < 1.96).mean()))
    assert 0.91 < np.mean(inside) < 0.98


def test_counts_and_dates(years: tuple[pd.DataFrame, np.ndarray]) -> None:
    scores, _ = years
    found = estimate_profile(scores).estimates
    one = scores[(scores["sample"] == "x07") & (scores["descriptor"] == "note 1")]
    row = found[(found["sample"] == "x07") & (found["descriptor"] == "note 1")].iloc[0]
    assert row["n_scores"] == len(one)
    assert row["n_sessions"] == one["session"].nunique()
    assert row["last_nosed"] == one["held_on"].max()
    assert row["cask"] == "cask 07"
    assert row["raw_mean"] == pytest.approx(one["score"].mean())
    assert len(found) == scores["sample"].nunique() * 3


@pytest.mark.slow
def test_as_of_uses_the_past_only(years: tuple[pd.DataFrame, np.ndarray]) -> None:
    scores, _ = years
    day = scores["held_on"].sort_values().iloc[len(scores) // 2].date()
    then = estimate_profile(scores, as_of=day)
    past = estimate_profile(scores[scores["held_on"] <= pd.Timestamp(day)])
    pd.testing.assert_frame_equal(then.estimates, past.estimates)
    assert then.to_dict()["as_of"] == day.isoformat()
    with pytest.raises(NoScoresError):
        estimate_profile(scores, as_of=date(2001, 1, 1))


@pytest.mark.slow
def test_the_standing_panel_is_named_and_moves_the_line(
    years: tuple[pd.DataFrame, np.ndarray],
) -> None:
    scores, _ = years
    every = estimate_profile(scores)
    two = estimate_profile(scores, settings=ProfileSettings(standing_panel=("P0", "P1")))
    assert every.fits[0].panel == tuple(f"P{i}" for i in range(7))
    assert two.fits[0].panel == ("P0", "P1")
    assert not np.allclose(every.estimates["estimate"], two.estimates["estimate"])
    nobody = estimate_profile(scores, settings=ProfileSettings(standing_panel=("Q",)))
    assert nobody.estimates["estimate"].isna().all()
    assert set(nobody.estimates["reason"]) == {"nobody of the standing panel scored it"}


def test_the_order_of_rows_changes_nothing(years: tuple[pd.DataFrame, np.ndarray]) -> None:
    scores, _ = years
    one = estimate_profile(scores).estimates
    other = estimate_profile(scores.sample(frac=1.0, random_state=3)).estimates
    pd.testing.assert_frame_equal(one, other, rtol=1e-6)


def test_one_session_leaves_out_what_it_cannot_tell() -> None:
    found = estimate_profile(Evening().scores())
    fit = found.fits[0]
    assert set(fit.variances) == {"sample", "assessor", "assessor_sample"}
    assert set(fit.left_out) == {"session", "assessor_session"}
    assert len(found.links) == 1
    assert found.note is None
    assert (found.estimates["se"] > 0).all()


def test_one_assessor_alone() -> None:
    scores = Evening(n_samples=8).scores()
    found = estimate_profile(scores[scores["assessor"] == "P0"])
    assert set(found.fits[0].variances) == {"sample"}
    assert found.estimates["estimate"].notna().all()


def test_nothing_nosed_twice_is_a_reason() -> None:
    scores = Evening(n_samples=8, replicates=1).scores()
    found = estimate_profile(scores[scores["assessor"] == "P0"])
    assert found.estimates["estimate"].isna().all()
    assert found.estimates["reason"].str.contains("scored twice").all()
    sample = found.to_dict()["samples"][0]
    assert sample["estimate"] is None
    assert sample["reason"]


def test_a_constant_note_keeps_its_value_without_error() -> None:
    scores = Evening().scores()
    scores.loc[scores["descriptor"] == "note 2", "score"] = 0.0
    found = estimate_profile(scores).estimates
    rows = found[found["descriptor"] == "note 2"]
    assert (rows["estimate"] == 0.0).all()
    assert rows["se"].isna().all()
    assert set(rows["reason"]) == {"every score is the same (0)"}


@pytest.mark.slow
def test_sessions_that_share_no_glass_are_told_apart() -> None:
    first = Evening(session="S1").scores(1)
    second = Evening(session="S2", n_samples=4).scores(2)
    second["sample"] = "y" + second["sample"]
    found = estimate_profile(pd.concat([first, second]))
    assert len(found.links) > 1
    assert found.links[0].sessions == ("S1",)
    assert found.links[1].samples == ("yx0", "yx1", "yx2", "yx3")
    assert "reference or a returning cask" in (found.note or "")
    apart = found.estimates[found.estimates["component"] == 1]
    assert set(apart["sample"]) == {"yx0", "yx1", "yx2", "yx3"}
    assert apart["reason"].str.contains("share no glass").all()
    bridge = second.assign(sample=second["sample"].replace("yx0", "x0"))
    assert len(estimate_profile(pd.concat([first, bridge])).links) == 1


def test_two_draws_of_a_cask_are_two_samples_and_one_sample_is_one_cask() -> None:
    scores = Evening().scores().assign(cask="12")
    assert set(estimate_profile(scores).estimates["cask"]) == {"12"}
    scores.loc[scores["assessor"] == "P0", "cask"] = "13"
    with pytest.raises(FrameError, match="more than one cask"):
        estimate_profile(scores)


def test_scales_meet_on_the_house_line() -> None:
    scores = Evening().scores()
    tenth = scores.assign(score=scores["score"] / 10.0, scale_high=10.0)
    one, other = (estimate_profile(frame).estimates for frame in (scores, tenth))
    pd.testing.assert_frame_equal(one, other, rtol=1e-6)


@pytest.mark.slow
def test_estimates_stay_on_the_line() -> None:
    scores = Evening(spread=40.0, n_samples=8).scores()
    found = estimate_profile(scores).estimates
    assert found["estimate"].between(0.0, 100.0).all()


def test_json(years: tuple[pd.DataFrame, np.ndarray]) -> None:
    scores, _ = years
    document = json.loads(json.dumps(estimate_profile(scores).to_dict(), allow_nan=False))
    assert {
        "sample", "cask", "descriptor", "estimate", "se", "n_scores", "n_sessions",
    } <= set(document["samples"][0])  # fmt: skip
    assert document["samples"][0]["cask"] is None
    assert document["samples"][0]["kind"] == "reference"
    assert document["links"][0]["sessions"][0] == "S00"


def test_twelve_scores_of_one_sample_are_no_lack_of_repeats() -> None:
    scores = Evening(n_assessors=12, replicates=1, n_notes=2).scores()
    scores = scores[(scores["descriptor"] == "note 0") | (scores["sample"] == "x0")]
    found = estimate_profile(scores).estimates
    reasons = set(found.loc[found["descriptor"] == "note 1", "reason"].dropna())
    assert "all 12 scores are of one sample: there is nothing to lay it beside" in reasons
    assert not any("scored twice" in reason for reason in reasons)
