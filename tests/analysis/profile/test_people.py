"""Scales, noises and offsets of assessors, and what they are taken for."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from analysis.profile import Profile, ProfileSettings, estimate_profile
from analysis.profile.people import kinds_of_scale
from tests.houses.panels import Panel


@pytest.fixture(scope="module")
def known() -> Profile:
    return estimate_profile(Panel(visits=3).scores())


def of(profile: Profile, column: str) -> np.ndarray:
    return profile.assessors[column].to_numpy(dtype=float)


def test_scales_are_found_and_average_to_one(known: Profile) -> None:
    wanted = np.array(Panel().scales) / np.mean(Panel().scales)
    np.testing.assert_allclose(of(known, "scale"), wanted, atol=0.12)
    assert of(known, "scale").mean() == pytest.approx(1.0)
    assert (of(known, "scale_low") < of(known, "scale")).all()
    within = (of(known, "scale_low") < wanted) & (wanted < of(known, "scale_high"))
    assert within.sum() >= 5


def test_noises_are_found(known: Profile) -> None:
    np.testing.assert_allclose(of(known, "noise"), Panel().noises, rtol=0.2)
    low, high = of(known, "noise_low"), of(known, "noise_high")
    assert ((low < Panel().noises) & (np.array(Panel().noises) < high)).sum() >= 4


def test_offsets_are_about_the_panel_mean(known: Profile) -> None:
    wanted = np.array([0.0, 4.0, 8.0, 0.0, 4.0, 8.0]) - 4.0
    np.testing.assert_allclose(of(known, "offset"), wanted, atol=2.5)
    assert of(known, "offset").mean() == pytest.approx(0.0, abs=1e-9)
    assert (of(known, "offset_se") > 0).all()


def test_the_mean_scale_is_one_over_the_standing_panel_only() -> None:
    settings = ProfileSettings(standing_panel=("P0", "P1", "P2"))
    found = estimate_profile(Panel(visits=2).scores(), settings=settings).assessors
    assert found.loc[found["in_panel"], "scale"].mean() == pytest.approx(1.0)
    assert found.loc[~found["in_panel"], "scale"].mean() > 1.2


def test_samples_differ_for_the_panel_by_its_share_of_what_the_people_disagree_on_too() -> None:
    scores = Panel(visits=3).scores()
    cells = scores.groupby(["assessor", "sample"]).ngroup().to_numpy()
    lasting = np.random.default_rng(5).normal(0.0, 9.0, cells.max() + 1)
    scores["score"] = (scores["score"] + lasting[cells]).clip(0.0, 100.0)
    found = estimate_profile(scores, settings=ProfileSettings(joint=False))
    fit, disagreement = found.fit("smoke"), found.fit("smoke").variances["assessor_sample"]
    assert disagreement > 20.0
    assert fit.between is not None
    assert found.posterior is not None
    between = fit.between + disagreement / len(found.assessors)
    assert found.posterior.between[0, 0] == pytest.approx(between)


def test_who_cannot_smell_it_and_who_has_it_reversed() -> None:
    panel = Panel(scales=(1.0, 1.0, 0.0, 1.0, -1.0, 1.0), noises=(5.0,) * 6, visits=2)
    found = estimate_profile(panel.scores()).assessors
    assert of_kind(found, "p_flat") == ["P2"]
    assert of_kind(found, "p_reversed") == ["P4"]


def test_a_scale_far_from_all_kinds_is_still_of_the_nearest() -> None:
    """Sixty times as wide as the panel: every density is too small to be written."""
    found = kinds_of_scale(np.array([60.0, -60.0]) * 400.0, np.array([400.0, 400.0]))
    np.testing.assert_allclose(found, [[1.0, 0.0, 0.0], [0.0, 0.0, 1.0]], atol=1e-9)


def of_kind(assessors: pd.DataFrame, column: str) -> list[str]:
    flagged: list[str] = assessors.loc[assessors[column] > 0.8, "assessor"].tolist()
    return flagged


def test_nobody_is_flagged_in_an_ordinary_panel(known: Profile) -> None:
    assert of_kind(known.assessors, "p_flat") == []
    assert of_kind(known.assessors, "p_reversed") == []


def test_signal_share_and_reliability_follow_their_formulas(known: Profile) -> None:
    fit = known.fits[0]
    assert fit.between is not None
    disagreement = fit.variances["assessor_sample"]
    heard = of(known, "scale") ** 2 * fit.between
    noise = of(known, "noise") ** 2
    np.testing.assert_allclose(of(known, "signal_share"), heard / (heard + disagreement + noise))
    told = fit.between * np.sum(of(known, "scale") ** 2 / (noise + disagreement))
    assert fit.reliability == pytest.approx(told / (1.0 + told))


def test_json_keeps_what_only_the_person_and_the_lead_may_know() -> None:
    panel = Panel(scales=(1.0, 1.0, 0.0, 1.0, 1.0, 1.0), noises=(5.0,) * 6)
    found = estimate_profile(panel.scores())
    public = json.loads(json.dumps(found.to_dict(), allow_nan=False))["assessors"]
    assert all("p_flat" not in row for row in public)
    (row,) = [row for row in public if row["assessor"] == "P2"]
    assert row["scale"] is None
    assert "lead only" in row["note"]
    assert found.to_dict(private=True)["assessors"][2]["p_flat"] > 0.8


def test_equal_scale_and_noise_are_settings() -> None:
    settings = ProfileSettings(equal_scale=True, equal_noise=True)
    found = estimate_profile(Panel().scores(), settings=settings)
    assert set(of(found, "scale")) == {1.0}
    assert len(set(of(found, "noise").round(9))) == 1
