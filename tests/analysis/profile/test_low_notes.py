"""Notes that many glasses lack: what reading zeros as no more than zeros buys, and what is said."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from analysis.errors import FitError
from analysis.profile import Profile, ProfileSettings, alone, estimate_profile
from analysis.profile.ends import ReadAs
from analysis.profile.layout import Glasses
from analysis.profile.moments import Moments
from analysis.profile.slopes import slopes
from analysis.profile.system import System
from tests.bench.low_worlds import Kind, World

AT_THEIR_WORD = ProfileSettings(ends_of_the_line=False)
SAID_BEFORE = {
    "sample", "cask", "filling", "kind", "drawn_on", "age_years", "descriptor", "estimate", "se",
    "low", "high", "raw_mean", "n_scores", "n_sessions", "last_nosed", "component", "reason",
}  # fmt: skip


def off(world: World, profile: Profile, note: str) -> np.ndarray:
    rows = profile.estimates[profile.estimates["descriptor"] == note].sort_values("sample")
    truth = world.truth[note][rows["sample"].str[1:].astype(int)]
    found: np.ndarray = rows["estimate"].to_numpy(float) - truth
    return found


Fitted = list[tuple[World, Profile, Profile]]


def fitted(seed: int) -> Fitted:
    """A world of each kind, fitted with zeros at their word and as they are read now."""
    worlds = [World(seed, kind) for kind in Kind]
    return [
        (one, estimate_profile(one.scores, settings=AT_THEIR_WORD), estimate_profile(one.scores))
        for one in worlds
    ]


@pytest.fixture(scope="module")
def one_each() -> Fitted:
    return fitted(31)


@pytest.fixture(scope="module")
def both(one_each: Fitted) -> Fitted:
    return one_each + fitted(32)


@pytest.mark.slow
def test_low_notes_are_nearer_the_truth(both: Fitted) -> None:
    notes = ("slight", "low")
    before = [np.mean(off(w, was, note) ** 2) for w, was, _ in both for note in notes]
    after = [np.mean(off(w, now, note) ** 2) for w, _, now in both for note in notes]
    assert np.sqrt(np.mean(after)) < 0.93 * np.sqrt(np.mean(before))


@pytest.mark.slow
def test_bands_of_the_most_hold(both: Fitted) -> None:
    """The third of the samples that has most of a low note: where bands held least."""

    def held(world: World, profile: Profile, note: str) -> float:
        rows = profile.bands(0.9)
        rows = rows[rows["descriptor"] == note].sort_values("sample")
        truth = world.truth[note][rows["sample"].str[1:].astype(int)]
        inside = (rows["low"] <= truth) & (truth <= rows["high"])
        return float(inside[truth >= np.quantile(truth, 2 / 3)].mean())

    was = np.mean([held(w, p, note) for w, p, _ in both for note in ("faint", "slight")])
    now = np.mean([held(w, p, note) for w, _, p in both for note in ("faint", "slight")])
    assert was < 0.75
    assert 0.8 < now < 0.97


def test_every_note_settles_and_says_how_it_was_read(
    one_each: Fitted,
) -> None:
    for _, was, now in one_each:
        assert {fit.reading for fit in was.fits} == {ReadAs.AS_WRITTEN}
        assert now.fit("middle").reading is ReadAs.AS_WRITTEN
        assert now.fit("slight").reading is ReadAs.BELOW
        assert all(fit.reason is None and fit.reading_reason is None for fit in now.fits)
        assert max(fit.rounds for fit in now.fits) < 100


def test_the_middle_of_the_line_stays_where_it_is() -> None:
    """One note at a time, not a digit moves where few scores lie at an end."""
    scores = World(33, Kind.CLIPPED).scores
    rows = [
        estimate_profile(
            scores[scores["descriptor"] == "middle"],
            settings=ProfileSettings(ends_of_the_line=ends, joint=False),
        ).estimates
        for ends in (False, True)
    ]
    pd.testing.assert_frame_equal(rows[0], rows[1])


@pytest.mark.slow
def test_slips_do_a_low_note_little_harm() -> None:
    """Two in 100 scores are anything on the line."""
    was, now, slips = [], [], []
    for seed in (41,):
        world = World(seed, Kind.CLIPPED, slips=0.02)
        was.append(off(world, estimate_profile(world.scores, settings=AT_THEIR_WORD), "faint"))
        found = estimate_profile(world.scores)
        now.append(off(world, found, "faint"))
        slips.append(found.fit("faint").slips or 0.0)
    assert np.mean(slips) == pytest.approx(0.02, abs=0.01)
    assert np.std(np.concatenate(now)) < 0.7 * np.std(np.concatenate(was))


def test_estimates_stay_on_the_line_and_inside_their_bands(
    one_each: Fitted,
) -> None:
    for _, _, now in one_each:
        rows = now.estimates[now.estimates["descriptor"].isin(["faint", "slight", "low"])]
        assert rows["estimate"].between(0.0, 100.0).all()
        assert (rows["low"] <= rows["estimate"]).all()
        assert (rows["estimate"] <= rows["high"] + 1e-9).all()
        assert ((rows["low"] == 0.0) | (rows["low"] >= 0.5)).all()


def test_match_and_vat_get_what_is_on_the_line(
    one_each: Fitted,
) -> None:
    _, _, now = one_each[0]
    held = now.posterior
    assert held is not None
    mean, covariance = held.part(held.samples, ["slight"])
    rows = now.estimates[now.estimates["descriptor"] == "slight"].set_index("sample")
    rows = rows.loc[list(held.samples)]
    assert mean[:, 0] == pytest.approx(rows["estimate"].to_numpy(float))
    assert np.sqrt(covariance[:, 0, 0]).min() >= rows["se"].min() - 1e-9
    assert np.linalg.eigvalsh(held.covariance).min() > -1e-6


def test_a_fit_that_does_not_settle_falls_back_and_says_so(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def unsettled(*_: object) -> None:
        raise FitError("the fit did not settle")

    scores = World(34, Kind.CLIPPED).scores
    scores = scores[scores["descriptor"] == "slight"]
    wanted = estimate_profile(scores, settings=AT_THEIR_WORD)
    monkeypatch.setattr(alone, "_read_at_ends", unsettled)
    found = estimate_profile(scores)
    fit = found.fit("slight")
    assert fit.reading is ReadAs.AS_WRITTEN
    assert "taken at their word" in (fit.reading_reason or "")
    pd.testing.assert_frame_equal(found.estimates, wanted.estimates)


def test_what_nearly_every_glass_lacks_is_counted() -> None:
    rng = np.random.default_rng(6)
    rows = [
        (f"S{t}", f"P{j}", f"x{(i + 5 * t) % 20}", "musty", 30.0 + float(rng.integers(0, 9)))
        if (i + 5 * t) % 20 == 0 and j < 5
        else (f"S{t}", f"P{j}", f"x{(i + 5 * t) % 20}", "musty", 0.0)
        for t in range(4) for j in range(8) for i in range(10)
    ]  # fmt: skip
    frame = pd.DataFrame(rows, columns=["session", "assessor", "sample", "descriptor", "score"])
    found = estimate_profile(frame.assign(replicate=1))
    assert found.fit("musty").reading is ReadAs.FOUND
    said = {row["sample"]: row for row in found.to_dict()["samples"]}
    there, not_there = said["x0"], said["x1"]
    assert (there["n_found"], there["n_scores"]) == (10, 16)
    assert there["estimate"] == pytest.approx(there["raw_mean"])
    assert (not_there["n_found"], not_there["estimate"], not_there["low"]) == (0, 0.0, 0.0)
    assert not_there["found_at_most"] == pytest.approx(1.0 - 0.05 ** (1 / 16))
    assert not_there["high"] > 0.0


def test_the_answer_has_more_keys_and_none_fewer() -> None:
    found = estimate_profile(World(35, Kind.TENS).scores)
    said = json.loads(json.dumps(found.to_dict()))
    assert set(said["samples"][0]) == SAID_BEFORE | {"n_found", "found_at_most"}
    fits = {fit["descriptor"]: fit for fit in said["fits"]}
    assert fits["slight"]["reading"] == "below_what_is_written"
    assert fits["middle"]["reading"] == "as_written"
    assert fits["middle"]["reading_reason"] is None
    assert 0.0 < fits["slight"]["slips"] < 0.05


@pytest.mark.slow
def test_an_earlier_profile_is_a_start() -> None:
    scores = World(36, Kind.CLIPPED).scores
    cold = estimate_profile(scores)
    warm = estimate_profile(scores, start=cold)
    assert warm.fit("middle").rounds < cold.fit("middle").rounds
    assert warm.fit("low").rounds == cold.fit("low").rounds  # so few begin with their scores alone
    a, b = (one.estimates["estimate"].to_numpy(float) for one in (cold, warm))
    assert np.abs(a - b).max() < 0.1 * cold.estimates["se"].mean()


def test_held_variance_of_noise_has_its_own_slopes() -> None:
    """By differences of ``log|V| + log|X'V^-1 X| + y'Py / s^2``."""
    rng = np.random.default_rng(2)
    codes = [np.repeat(np.arange(3), 24), np.tile(np.repeat(np.arange(4), 6), 3)]
    sample = np.tile(np.arange(6), 12)
    layout = Glasses(codes[0], codes[1], sample, np.arange(6)).layout
    y, weight = rng.normal(20.0, 6.0, 72), rng.uniform(0.2, 1.5, 72)
    ratios = {"sample": 0.8, "assessor": 0.3, "session": 0.2, "assessor_sample": 0.4}
    held = 25.0

    def system(**changed: float) -> System:
        return System(layout, np.empty((6, 0)), ratios | changed, np.ones(4), weight)

    def deviance(**changed: float) -> float:
        at = system(**changed)
        return at.log_determinant + at.solve(y).squares / held

    at = system()
    found = slopes(at, at.solve(y), Moments(at), held)
    for k, (name, ratio) in enumerate(ratios.items()):
        up, down = deviance(**{name: ratio + 1e-4}), deviance(**{name: ratio - 1e-4})
        assert found.gradient[k] == pytest.approx((up - down) / 2e-4, abs=1e-5)
    assert np.linalg.eigvalsh(found.hessian).min() > 0.0
