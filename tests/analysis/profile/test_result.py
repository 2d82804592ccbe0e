"""What a profile can be asked: draws, comparisons, links, and what it refuses."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pandas as pd
import pytest

from analysis.errors import UnlinkedError
from analysis.profile import Profile, ProfileSettings, estimate_profile
from analysis.profile.joint import join
from analysis.profile.words import unsettled
from tests.houses.panels import Panel
from tests.houses.worlds import Evening, Years


@pytest.fixture(scope="module")
def years() -> Profile:
    return estimate_profile(Years().draw()[0])


def test_draws_have_the_means_and_errors_of_the_estimates(years: Profile) -> None:
    rows = years.estimates.set_index(["sample", "descriptor"])
    drawn = years.draws(["x07", "x08"], ["note 2", "note 1"], n=40_000, seed=3)
    assert drawn.shape == (40_000, 2, 2)
    estimate = float(rows["estimate"].to_dict()[("x08", "note 2")])
    se = float(rows["se"].to_dict()[("x08", "note 2")])
    assert drawn[:, 1, 0].mean() == pytest.approx(estimate, abs=0.1)
    assert drawn[:, 1, 0].std() == pytest.approx(se, rel=0.03)
    np.testing.assert_array_equal(
        drawn, years.draws(["x07", "x08"], ["note 2", "note 1"], 40_000, 3)
    )
    with pytest.raises(KeyError, match="x99"):
        years.draws(["x99"])


def test_a_common_error_is_common(years: Profile) -> None:
    assert years.posterior is not None
    drawn = years.draws(["x07", "x08"], ["note 1"], n=60_000)[:, :, 0]
    wanted = years.posterior.shared(["note 1"])[0]
    assert np.cov(drawn.T)[0, 1] == pytest.approx(wanted, rel=0.15)


def test_bands_are_one_sided_at_an_end() -> None:
    scores = Panel(n_samples=12, noises=(4.0,) * 6, spread=30.0).scores()
    scores["score"] = (scores["score"] - 20.0).clip(0, 100)
    rows = estimate_profile(scores).estimates
    assert rows["low"].between(0, 100).all()
    assert rows["high"].between(0, 100).all()
    assert (rows["low"] == 0.0).any()


def test_samples_of_one_part_are_compared_and_others_refused() -> None:
    first, second = Evening(session="S1").scores(1), Evening(session="S2").scores(2)
    second["sample"] = "y" + second["sample"]
    found = estimate_profile(pd.concat([first, second]))
    rows = found.compare("x1", "x2")
    assert list(rows.columns) == ["descriptor", "difference", "se"]
    assert (rows["se"] > 0).all()
    with pytest.raises(UnlinkedError, match="house reference"):
        found.compare("x1", "yx1")


def test_sessions_that_all_stand_alone_are_said_to_hide_the_samples() -> None:
    parts = [Evening(session=f"S{k}").scores(k) for k in range(3)]
    for k, part in enumerate(parts):
        part["sample"] = f"w{k}_" + part["sample"]
    note = estimate_profile(pd.concat(parts)).note
    assert note is not None
    assert "put down to the evenings" in note


def test_links_name_what_ties_and_where_it_is_weak(years: Profile) -> None:
    (link,) = years.links
    assert link.ties[0] == "x00"
    single = estimate_profile(Panel(n_samples=12).scores())
    assert single.links[0].ties == ("ref",)
    assert single.links[0].weak == single.links[0].sessions


def test_an_unsettled_fit_says_what_to_look_at() -> None:
    said = unsettled("the fit did not settle", "Wren", np.array([0.0, 0.0, 0.0, 9.0]))
    assert "Wren" in said
    assert "75 in 100" in said
    assert "look for a session" in unsettled("the fit did not settle", None, np.empty(0))


def test_joint_stage_is_the_posterior_written_out() -> None:
    rng = np.random.default_rng(1)
    z, noise = rng.normal(0, 3, (40, 3)), rng.uniform(1, 4, (40, 3))
    found = join(z, noise, np.array([6.0, 5.0, 4.0]), share=0.3)
    s = found.between
    gain = s @ np.linalg.inv(s + np.diag(noise[7]))
    np.testing.assert_allclose(found.mean[7], gain @ z[7])
    np.testing.assert_allclose(found.covariance[7], s - gain @ s, atol=1e-12)


def test_a_note_that_was_not_scored_is_told_by_the_others_only() -> None:
    rng = np.random.default_rng(2)
    truth = rng.normal(0, 5, 200)
    z = np.column_stack([truth, truth]) + rng.normal(0, 2, (200, 2))
    z[0] = [8.0, np.nan]
    noise = np.where(np.isnan(z), np.nan, 4.0)
    found = join(z, noise, np.array([25.0, 25.0]))
    assert found.mean[0, 1] > 4.0
    assert found.covariance[0, 1, 1] > found.covariance[1, 1, 1]


@pytest.mark.slow
def test_notes_that_move_together_inform_each_other() -> None:
    panel = Panel(noises=(16.0,) * 6)
    scores = pd.concat(
        [panel.scores().assign(descriptor=f"note {k}") for k in range(1)]
        + [Panel(noises=(16.0,) * 6).scores(1).assign(descriptor="twin")]
    )
    rng = np.random.default_rng(7)
    twin = scores["descriptor"] == "twin"
    scores.loc[twin, "score"] += rng.normal(0, 16, int(twin.sum()))
    scores["score"] = scores["score"].clip(0, 100)
    both = estimate_profile(scores)
    apart = estimate_profile(scores, settings=ProfileSettings(joint=False))
    assert both.posterior is not None
    assert both.posterior.share < 1.0
    assert apart.posterior is not None
    assert apart.posterior.share == 1.0
    assert both.estimates["se"].mean() < apart.estimates["se"].mean()


@pytest.mark.slow
def test_more_processes_give_the_same_answer() -> None:
    scores = Years().draw()[0]
    one = estimate_profile(scores, settings=ProfileSettings(processes=1))
    two = estimate_profile(scores, settings=ProfileSettings(processes=2))
    pd.testing.assert_frame_equal(one.estimates, two.estimates, rtol=1e-9)


def test_a_helper_that_cannot_start_is_done_without(monkeypatch: pytest.MonkeyPatch) -> None:
    scores = Years(n_notes=2).draw()[0]
    wanted = estimate_profile(scores).estimates
    for executable in ("", "/bin/false"):
        monkeypatch.setattr(sys, "executable", executable)
        found = estimate_profile(scores, settings=ProfileSettings(processes=2)).estimates
        pd.testing.assert_frame_equal(found, wanted, rtol=1e-9)


@pytest.mark.slow
def test_a_helper_needs_no_pandas() -> None:
    code = "import sys, analysis.profile.worker; print('pandas' in sys.modules)"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "False"
