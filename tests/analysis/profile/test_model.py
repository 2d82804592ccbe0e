"""What the model buys, and how it behaves where data are thin."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis.errors import FrameError
from analysis.profile import Profile, ProfileSettings, estimate_profile
from tests.houses.panels import Panel


def error(profile: Profile, truth: np.ndarray) -> float:
    """Rms error of the samples' deviations from their mean."""
    rows = profile.estimates[profile.estimates["kind"] == "test"].sort_values("sample")
    off = rows["estimate"].to_numpy() - truth
    return float(np.std(off))


def test_own_scales_and_noises_beat_equal_ones() -> None:
    equal = ProfileSettings(equal_scale=True, equal_noise=True)
    gains = []
    for seed in range(4):
        panel = Panel()
        scores, truth = panel.scores(seed), panel.truth(seed)
        own = error(estimate_profile(scores), truth)
        gains.append(own / error(estimate_profile(scores, settings=equal), truth))
    assert np.mean(gains) < 0.95


@pytest.mark.slow
def test_slips_do_little_harm() -> None:
    panel = Panel(slips=0.06, noises=(5.0,) * 6)
    gains = []
    for seed in range(4):
        scores, truth = panel.scores(seed), panel.truth(seed)
        taken = estimate_profile(scores, settings=ProfileSettings(degrees=None))
        gains.append(error(estimate_profile(scores), truth) / error(taken, truth))
    assert np.mean(gains) < 0.9


def test_covariates_carry_what_one_visit_cannot() -> None:
    panel = Panel(noises=(14.0,) * 6)
    scores, truth = panel.scores(), panel.truth(1)
    rng = np.random.default_rng(8)
    names = [f"x{i:03d}" for i in range(panel.n_samples)]
    known = pd.DataFrame({"age": truth + rng.normal(0.0, 6.0, len(truth))}, index=names)
    plain, told = estimate_profile(scores), estimate_profile(scores, covariates=known)
    assert error(told, truth) < 0.85 * error(plain, truth)
    effects = told.fits[0].effects
    assert set(effects) == {"age", "no covariates"}
    assert effects["age"] == pytest.approx(0.8, abs=0.25)
    assert np.array(told.fits[0].effects_covariance).shape == (2, 2)


def test_covariates_must_be_numbers() -> None:
    known = pd.DataFrame({"age": [np.inf]}, index=["x001"])
    with pytest.raises(FrameError, match="age"):
        estimate_profile(Panel().scores(), covariates=known)


def test_draws_of_one_filling_inform_each_other() -> None:
    panel = Panel(draws=3, within=2.0, noises=(16.0,) * 6)
    scores, truth = panel.scores(), panel.truth(1)
    nested = estimate_profile(scores)
    assert set(nested.fits[0].variances) >= {"sample", "filling"}
    alone = estimate_profile(scores.assign(filling=None))
    assert "filling" not in alone.fits[0].variances
    assert error(nested, truth) < 0.9 * error(alone, truth)


def test_one_draw_a_filling_needs_no_filling() -> None:
    found = estimate_profile(Panel().scores())
    assert "filling" not in found.fits[0].variances
    assert "filling" not in found.fits[0].left_out


def test_lasting_disagreement_is_told_from_noise() -> None:
    """Three visits with opinions of sd 8 that stay: what returns is not noise."""
    rng = np.random.default_rng(3)
    panel = Panel(visits=3, noises=(5.0,) * 6, scales=(1.0,) * 6)
    scores = panel.scores()
    opinion = rng.normal(0.0, 8.0, (6, panel.n_samples + 1))
    at = scores["sample"].str[1:].where(scores["sample"] != "ref", str(panel.n_samples))
    scores["score"] += opinion[scores["assessor"].str[1:].astype(int), at.astype(int)]
    scores["score"] = scores["score"].clip(0, 100)
    fit = estimate_profile(scores).fits[0]
    assert fit.variances["assessor_sample"] == pytest.approx(64.0, rel=0.3)
    once = estimate_profile(Panel().scores()).fits[0]
    assert "assessor_sample" in {*once.variances, *once.left_out}


def test_noise_may_depend_on_the_level() -> None:
    rng = np.random.default_rng(4)
    panel = Panel(noises=(0.0,) * 6, scales=(1.0,) * 6, visits=2, spread=18.0)
    scores = panel.scores()
    level = np.append(panel.truth(1), 0.0)
    at = scores["sample"].str[1:].where(scores["sample"] != "ref", str(panel.n_samples))
    high = level[at.astype(int)] > 0
    scores["score"] += rng.normal(0.0, np.where(high, 9.0, 2.0))
    fit = estimate_profile(scores.assign(score=scores["score"].clip(0, 100))).fits[0]
    assert len(fit.level_noise) == 3
    assert fit.level_noise[2] > 4.0 * fit.level_noise[0]


def test_a_later_fit_starts_from_the_last_one_and_ends_where_it_would_anyway() -> None:
    scores = Panel(visits=3).scores()
    last = scores["session"] == scores["session"].max()
    before = estimate_profile(scores[~last])
    warm = estimate_profile(scores, start=before)
    cold = estimate_profile(scores)
    assert warm.fits[0].rounds < cold.fits[0].rounds
    off = (warm.estimates["estimate"] - cold.estimates["estimate"]).abs()
    assert off.max() < 0.1 * cold.estimates["se"].min()


def test_a_start_of_other_terms_or_people_is_no_hindrance() -> None:
    start = estimate_profile(Panel(n_samples=12, per_session=12).scores())
    scores = Panel(visits=2).scores()
    scores["assessor"] = scores["assessor"].replace("P0", "new")
    found = estimate_profile(scores, start=start)
    assert found.estimates["estimate"].notna().all()


def test_a_start_whose_noise_had_vanished_is_no_start() -> None:
    scores = Panel(visits=2).scores()
    cold = estimate_profile(scores)
    fit = replace(cold.fits[0], residual=1e-9, noise=dict.fromkeys(cold.fits[0].noise, 1.0))
    warm = estimate_profile(scores, start=replace(cold, fits=(fit,)))
    assert warm.fits[0].rounds == cold.fits[0].rounds
    assert warm.estimates["estimate"].tolist() == cold.estimates["estimate"].tolist()


def test_so_few_glasses_that_noise_vanishes_still_have_a_fit() -> None:
    # Eight casks once each, every opinion a person's only one: nothing tells noise from opinion.
    levels = {"a": 20.0, "b": 31.0, "c": 44.0, "d": 58.0, "ref": 40.0}
    rows = [
        {"session": session, "assessor": who, "sample": name, "replicate": 1, "descriptor": "smoke",
         "kind": "reference" if name == "ref" else "test", "score": level + shift}
        for session, kept in (("S1", "ab"), ("S2", "cd"))
        for who, shift in (("A", 0.0), ("B", 6.0), ("C", -5.0))
        for name, level in levels.items() if name == "ref" or name in kept
    ]  # fmt: skip
    found = estimate_profile(pd.DataFrame(rows)).estimates
    assert found["estimate"].notna().all()
    assert np.isfinite(found["se"]).all()


def test_mostly_zero_notes_take_no_score_for_a_slip() -> None:
    rng = np.random.default_rng(6)
    scores = Panel(noises=(2.0,) * 6, visits=2).scores()
    has = scores["sample"].isin([f"x{i:03d}" for i in range(6)])
    scores["score"] = np.where(has, rng.normal(20.0, 4.0, len(scores)).clip(0, 100), 0.0)
    found = estimate_profile(scores).estimates.set_index("sample")["estimate"]
    assert found[[f"x{i:03d}" for i in range(6)]].min() > 15.0
    assert found[[f"x{i:03d}" for i in range(6, 60)]].max() < 2.0
