from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.errors import FrameError, TargetError, UnknownDescriptorError
from analysis.profile import Profile, ProfileSettings, estimate_profile
from analysis.target import Target, TargetLine, match_casks
from tests.analysis.profile.test_serving import own_orders, served
from tests.examples import examples
from tests.houses.worlds import Evening, Years

TARGET = Target(
    "Withy",
    (TargetLine("note 0", 50.0, 8.0, 2.0), TargetLine("note 1", 40.0, 12.0)),
)


@pytest.fixture(scope="module")
def profile() -> Profile:
    return estimate_profile(Years().draw()[0])


@pytest.fixture(scope="module")
def normal(profile: Profile) -> Profile:
    """The same casks without what the house shows of their spread."""
    assert profile.posterior is not None
    return replace(profile, posterior=replace(profile.posterior, foretold=None))


def test_probability_and_distance_are_the_formulas(normal: Profile) -> None:
    found = match_casks(normal, TARGET)
    rows = normal.estimates
    for part in found.casks:
        chance, distance = 1.0, 0.0
        for line, weight in zip(TARGET.lines, (2 / 3, 1 / 3), strict=True):
            row = rows[(rows["sample"] == part.sample) & (rows["descriptor"] == line.descriptor)]
            m, s = float(row["estimate"].iloc[0]), float(row["se"].iloc[0])
            chance *= scipy.stats.norm(m, s).cdf(line.aim + line.tolerance) - scipy.stats.norm(
                m, s
            ).cdf(line.aim - line.tolerance)
            distance += weight * ((m - line.aim) ** 2 + s**2) / line.tolerance**2
        assert part.probability == pytest.approx(chance, rel=1e-9)
        assert part.distance == pytest.approx(distance, rel=1e-9)


def test_distance_is_the_expectation(normal: Profile) -> None:
    """z'Wz + tr(WC) against 200,000 draws."""
    part = match_casks(normal, TARGET).casks[3]
    rows = normal.estimates[normal.estimates["sample"] == part.sample].set_index("descriptor")
    rng = np.random.default_rng(1)
    total = np.zeros(200_000)
    for line, weight in zip(TARGET.lines, (2 / 3, 1 / 3), strict=True):
        row = rows.loc[line.descriptor]
        z = rng.normal(row["estimate"], row["se"], len(total)) - line.aim
        total += weight * (z / line.tolerance) ** 2
    assert part.distance == pytest.approx(total.mean(), rel=0.01)


def test_best_first_and_every_cask_once(profile: Profile) -> None:
    found = match_casks(profile, TARGET)
    apart = [part.probability if part.probability >= 1e-4 else 0.0 for part in found.casks]
    keys = [(-chance, part.distance) for chance, part in zip(apart, found.casks, strict=True)]
    assert keys == sorted(keys)
    names = [part.cask for part in found.casks]
    assert len(names) == len(set(names)) == found.n_ranked
    assert "None" not in names
    assert match_casks(profile, TARGET, top=3).casks == found.casks[:3]


def test_casks_that_are_all_far_off_are_ordered_by_distance(profile: Profile) -> None:
    """A chance of 1e-240 is no better than none: it hangs on the last digits of a tail."""
    far = Target("far", (TargetLine(TARGET.lines[0].descriptor, 100.0, 0.5),))
    found = match_casks(profile, far).casks
    assert max(part.probability for part in found) < 1e-4
    assert [part.distance for part in found] == sorted(part.distance for part in found)


def test_the_sentence_says_how_sure(profile: Profile) -> None:
    found = match_casks(profile, TARGET, top=5)
    assert found.casks[0].cask in found.sentence
    assert found.target in found.sentence
    assert found.sentence.endswith(f"{found.next_action}.")
    assert found.best_is_best is not None
    assert found.first_hold_best is not None
    assert 0.0 <= found.best_is_best <= found.first_hold_best <= 1.0
    assert found == match_casks(profile, TARGET, top=5)


def test_no_cask_fits(profile: Profile) -> None:
    far = Target("Far", (TargetLine("note 0", 100.0, 1.0),))
    found = match_casks(profile, far)
    assert found.casks[0].probability < 0.05
    assert "vatting" in found.next_action


def test_worst_descriptor_is_furthest_off_in_tolerances(profile: Profile) -> None:
    estimates = profile.estimates.copy()
    one = estimates["sample"] == "x05"
    estimates.loc[one & (estimates["descriptor"] == "note 0"), "estimate"] = 58.0
    estimates.loc[one & (estimates["descriptor"] == "note 1"), "estimate"] = 29.0
    found = match_casks(replace(profile, estimates=estimates), TARGET)
    (part,) = [part for part in found.casks if part.sample == "x05"]
    assert part.worst_descriptor == "note 0"
    assert part.worst_off == pytest.approx(1.0)


def test_a_band_that_touches_an_end_is_one_sided(normal: Profile) -> None:
    estimates = normal.estimates.assign(estimate=0.0, se=5.0)
    none = Target("No smoke", (TargetLine("note 0", 0.0, 5.0),))
    found = match_casks(replace(normal, estimates=estimates), none)
    assert found.casks[0].probability == pytest.approx(scipy.stats.norm.cdf(1.0))
    whole = Target("Anything", (TargetLine("note 0", 50.0, 60.0),))
    assert match_casks(normal, whole).casks[0].probability == pytest.approx(1.0)


def test_unknown_descriptor_gets_the_nearest_names(profile: Profile) -> None:
    wrong = Target("W", (TargetLine("Note O", 50, 5), TargetLine("pear", 50, 5)))
    with pytest.raises(UnknownDescriptorError) as caught:
        match_casks(profile, wrong)
    assert caught.value.nearest["Note O"][0] in ("note 0", "note 1", "note 2")
    assert caught.value.nearest["pear"] == ()
    assert "'Note O' (nearest: note" in str(caught.value)
    assert "'pear'. Correct the name, or score those notes" in str(caught.value)
    with pytest.raises(UnknownDescriptorError) as caught:
        match_casks(profile, Target("W", (TargetLine("pear", 50, 5),)))
    assert str(caught.value).endswith("'pear'. Score that note in a session first.")


def test_a_cask_that_lacks_a_note_is_listed_apart() -> None:
    scores = Evening().scores()
    scores["cask"] = scores["sample"].str.replace("x", "cask ")
    drop = (scores["sample"] == "x2") & (scores["descriptor"] == "note 1")
    found = match_casks(estimate_profile(scores[~drop]), TARGET)
    assert found.n_ranked == 5
    (left,) = found.left_out
    assert (left.cask, left.sample) == ("cask 2", "x2")
    assert left.reason == "no estimate of note 1"


def test_untied_sessions_are_not_ranked_together() -> None:
    first = Evening(session="S1").scores(1)
    second = Evening(session="S2", n_samples=3).scores(2)
    second["sample"] = "y" + second["sample"]
    scores = pd.concat([first, second])
    scores["cask"] = "cask " + scores["sample"]
    found = match_casks(estimate_profile(scores), TARGET)
    assert {part.sample[0] for part in found.casks} == {"x"}
    assert {part.sample for part in found.left_out} == {"yx0", "yx1", "yx2"}
    assert all("share no glass" in part.reason for part in found.left_out)


def test_the_latest_draw_of_the_filling_that_is_in_the_cask() -> None:
    scores = Evening().scores()
    number = scores["sample"].str[1:].astype(int)
    scores["cask"] = "cask " + (number // 2).astype(str)
    scores["filling"] = scores["cask"] + np.where(number == 5, "/2", "/1")
    scores["drawn_on"] = pd.Timestamp("2025-01-01") + pd.to_timedelta(number % 2, unit="D")
    profile = estimate_profile(scores)
    found = match_casks(profile, TARGET)
    assert {part.sample for part in found.casks} == {"x1", "x3", "x5"}
    casks = pd.DataFrame(
        {"cask": ["cask 0", "cask 1", "cask 2"], "filling": ["cask 0/1", "cask 1/9", "cask 2/1"]}
    )
    now = match_casks(profile, TARGET, casks=casks)
    assert {part.sample for part in now.casks} == {"x1", "x4"}
    (left,) = now.left_out
    assert left.cask == "cask 1"
    assert "no longer in it" in left.reason
    with pytest.raises(FrameError, match="filling"):
        match_casks(profile, TARGET, casks=casks[["cask"]])


def test_nothing_to_rank() -> None:
    found = match_casks(estimate_profile(Evening().scores()), TARGET)
    assert found.casks == ()
    assert found.best_is_best is None
    assert "No cask can be ranked" in found.sentence


def test_a_target_that_means_nothing_says_all_its_faults() -> None:
    with pytest.raises(TargetError) as caught:
        Target("T", (TargetLine("a", 101, 0), TargetLine("a", 5, 5, -1)))
    for part in ("aim 101", "tolerance 0", "weight -1", "given 2 times"):
        assert part in str(caught.value)
    with pytest.raises(TargetError, match="no line"):
        Target("T", ())
    with pytest.raises(TargetError, match="Every weight is zero"):
        Target("T", (TargetLine("a", 5, 5, 0),))


def test_json(profile: Profile) -> None:
    document = json.loads(json.dumps(match_casks(profile, TARGET).to_dict(), allow_nan=False))
    assert {
        "cask", "probability", "distance", "worst_descriptor", "n_scores", "last_nosed",
    } <= set(document["casks"][0])  # fmt: skip
    assert document["casks"][0]["last_nosed"].startswith("2023-")


@pytest.mark.slow
@settings(max_examples=examples(40), deadline=None)
@given(
    aim=st.floats(0, 100),
    tolerance=st.floats(0.1, 60),
    wider=st.floats(1.0, 3.0),
)
def test_a_wider_tolerance_never_suits_less(aim: float, tolerance: float, wider: float) -> None:
    estimates = pd.DataFrame(
        {
            "sample": ["x"], "cask": ["c"], "filling": [None], "drawn_on": [pd.NaT],
            "last_nosed": [pd.NaT], "descriptor": ["smoke"], "estimate": [37.0], "se": [6.0],
            "n_scores": [9], "component": [0], "reason": [None], "kind": ["test"],
        }
    )  # fmt: skip
    made = estimate_profile(Evening(n_notes=1).scores())
    fits = (replace(made.fits[0], descriptor="smoke"),)
    profile = replace(made, estimates=estimates, fits=fits)
    narrow, wide = (
        match_casks(profile, Target("T", (TargetLine("smoke", aim, h),)), draws=10).casks[0]
        for h in (tolerance, tolerance * wider)
    )
    assert 0.0 <= narrow.probability <= wide.probability + 1e-12 <= 1.0 + 1e-9


def test_errors_that_go_together_are_not_multiplied() -> None:
    """Two notes of one source: the chance of both against 400,000 joint draws."""
    rng = np.random.default_rng(2)
    scores = Years(n_notes=2).draw(3)[0]
    first = scores[scores["descriptor"] == "note 0"]
    twin = first.assign(
        descriptor="note 1", score=(first["score"] + rng.normal(0, 6, len(first))).clip(0, 100)
    )
    made = estimate_profile(pd.concat([first, twin]))
    assert made.posterior is not None
    made = replace(made, posterior=replace(made.posterior, foretold=None))
    assert made.posterior is not None
    target = Target("Both", (TargetLine("note 0", 50, 6), TargetLine("note 1", 50, 6)))
    apart = 0.0
    for part in match_casks(made, target).casks[:6]:
        mean, covariance = made.posterior.part([part.sample], ["note 0", "note 1"])
        drawn = rng.multivariate_normal(mean[0], covariance[0], 400_000)
        wanted = float((np.abs(drawn - 50) < 6).all(axis=1).mean())
        assert part.probability == pytest.approx(wanted, abs=0.005)
        apart = max(apart, abs(covariance[0, 0, 1]) / covariance[0, 0, 0])
    assert apart > 0.1


@pytest.mark.slow
def test_a_fall_along_the_tray_makes_no_wrong_chances() -> None:
    """Mean squared error of the chance, over casks that are within or not, by two ways."""
    target = Target("Withy", tuple(TargetLine(name, 50.0, 8.0) for name in ("plum", "wax")))
    squared: dict[bool, list[float]] = {False: [], True: []}
    for seed in range(20):
        scores, truth = served(seed, own_orders(seed))
        within = np.all(np.abs(truth[:, 1:] - 50.0) < 8.0, axis=1).astype(float).tolist()
        for order, found in squared.items():
            settings = ProfileSettings(order=order)
            made = estimate_profile(scores.assign(cask=scores["sample"]), settings=settings)
            for part in match_casks(made, target, draws=10).casks:
                found.append((part.probability - within[int(part.cask[1:])]) ** 2)
    assert np.mean(squared[True]) < 0.85 * np.mean(squared[False])
