"""From scores through the profile back to readings: nothing is pulled any more.

A made-up panel of people with their own scale, offset and noise; casks whose notes go together
and of which half were drawn twice. What is read back must follow the truth with slope one, also
between two draws of one cask, and its noise must be what is said.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pandas as pd
import pytest

from analysis.errors import InputError
from analysis.influences.readings import read_back
from analysis.profile import DescriptorFit, Profile, ProfileSettings, estimate_profile
from analysis.profile.ends import ReadAs

NOTES, PEOPLE, CASKS, A_SESSION = 4, 8, 60, 8


def panel_scores(seed: int) -> tuple[pd.DataFrame, dict[str, np.ndarray]]:
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(NOTES, NOTES))
    root *= 10 / np.sqrt((root**2).sum(axis=1, keepdims=True))
    truth: dict[str, np.ndarray] = {}
    for c in range(CASKS):
        cask = 45 + root @ rng.normal(size=NOTES)
        for k in range(1 + c % 2):
            truth[f"c{c}-{k}"] = cask + rng.normal(0.0, 4.0, NOTES)
    order = rng.permutation(list(truth))
    truth["REF"] = 45 + root @ rng.normal(size=NOTES)
    offset, noise = rng.normal(0.0, 6.0, PEOPLE), np.exp(rng.normal(np.log(6.0), 0.3, PEOPLE))
    scale = np.exp(rng.normal(0.0, 0.2, PEOPLE))
    scale /= scale.mean()
    rows = []
    for s in range(0, len(order), A_SESSION):
        for sample in [*order[s : s + A_SESSION], "REF"]:
            off = truth[str(sample)] - 45
            for j in range(PEOPLE):
                y = 45 + offset[j] + scale[j] * off + rng.normal(0.0, noise[j], NOTES)
                rows += [
                    (f"s{s}", f"A{j}", str(sample), f"n{d}", score)
                    for d, score in enumerate(np.clip(y, 0.0, 100.0))
                ]
    frame = pd.DataFrame(rows, columns=["session", "assessor", "sample", "descriptor", "score"])
    frame["replicate"] = 1
    frame["kind"] = np.where(frame["sample"] == "REF", "reference", "test")
    number = frame["sample"].str.split("-").str[0]
    frame["cask"] = number.where(frame["kind"] == "test", None)
    frame["filling"] = (number + "/1").where(frame["kind"] == "test", None)
    return frame, truth


@cache
def read() -> pd.DataFrame:
    """Readings, estimates and truths of three panels."""
    parts = []
    for seed in range(3):
        scores, truth = panel_scores(seed)
        profile = estimate_profile(scores)
        found = read_back(profile).merge(
            profile.estimates[["sample", "descriptor", "estimate"]], on=["sample", "descriptor"]
        )
        found = found[found["sample"] != "REF"]
        true = [
            truth[s][int(d[1:])] for s, d in zip(found["sample"], found["descriptor"], strict=True)
        ]
        parts.append(found.assign(truth=true, world=seed))
    return pd.concat(parts, ignore_index=True)


def changes(column: str) -> np.ndarray:
    """Second draw less first, of casks drawn twice."""
    frame = read().assign(cask=lambda f: f["sample"].str.split("-").str[0])
    wide = frame.assign(k=frame["sample"].str[-1]).pivot(
        index=["world", "descriptor", "cask"], columns="k", values=column
    )
    found: np.ndarray = (wide["1"] - wide["0"]).dropna().to_numpy(dtype=np.float64)
    return found


@pytest.mark.slow
def test_readings_follow_the_truth_with_slope_one() -> None:
    for _, part in read().groupby(["world", "descriptor"]):
        slope = np.polyfit(part["truth"], part["reading"], 1)[0]
        assert slope == pytest.approx(1.0, abs=0.12)


@pytest.mark.slow
def test_the_noise_is_what_is_said() -> None:
    frame = read()
    off = frame["reading"] - frame["truth"]
    off -= off.groupby([frame["world"], frame["descriptor"]]).transform("mean")
    assert float((off**2 / frame["noise_variance"]).mean()) == pytest.approx(1.0, abs=0.25)


def test_changes_of_one_cask_are_not_pulled_together() -> None:
    """Estimates of two draws of a cask lean on each other; readings do not."""
    true = changes("truth")
    slopes = {name: changes(name) @ true / (true @ true) for name in ("reading", "estimate")}
    assert slopes["reading"] == pytest.approx(1.0, abs=0.1)
    assert slopes["estimate"] < 0.8


def test_a_profile_that_leans_on_covariates_is_refused() -> None:
    fit = DescriptorFit("n", 9, {"sample": 9.0}, 9.0, 0.0, {}, ("A",), effects={"age": 1.0})
    empty = Profile(pd.DataFrame(), (fit,), (), None, 0, {})
    with pytest.raises(InputError, match="leans on covariates"):
        read_back(empty)


def with_a_low_note(seed: int) -> pd.DataFrame:
    """The same panel, one of its notes moved down until most of its scores are 0."""
    scores, _ = panel_scores(seed)
    low = scores["descriptor"] == "n0"
    return scores.assign(score=scores["score"].where(~low, (scores["score"] - 50.0).clip(lower=0)))


@pytest.mark.slow
def test_a_note_of_zeros_leaves_the_readings_of_others_alone() -> None:
    """Its pull on them was made before the line: undone there, they are what they are alone."""
    scores = with_a_low_note(1)
    profile = estimate_profile(scores)
    assert profile.fit("n0").reading is ReadAs.BELOW
    alone = estimate_profile(scores, settings=ProfileSettings(joint=False))
    key = ["sample", "descriptor"]
    both = read_back(profile).merge(read_back(alone), on=key, suffixes=("", "_alone"))
    others = both[both["descriptor"] != "n0"]
    off = (others["reading"] - others["reading_alone"]) / np.sqrt(others["noise_variance"])
    off -= off.groupby(others["descriptor"]).transform("mean")
    assert off.abs().max() < 0.25


def test_a_low_note_is_read_on_the_line() -> None:
    """What is far down is known well: its reading is hardly anything but its estimate."""
    profile = estimate_profile(with_a_low_note(2))
    rows = profile.estimates[profile.estimates["descriptor"] == "n0"].set_index("sample")
    found = read_back(profile).query("descriptor == 'n0'").set_index("sample")
    assert set(found.index) == set(rows.index)
    least = rows["estimate"].astype(float).nsmallest(15).index
    off = found.loc[least, "reading"] - rows.loc[least, "estimate"].astype(float)
    assert off.abs().max() < 1.0
    assert (found["noise_variance"] > 0.0).all()


def test_a_sample_near_the_end_of_the_line_is_not_known_beyond_doubt() -> None:
    """What all samples share is less of its error there, as the rest is: some is its own."""
    scores = with_a_low_note(3)
    few = sorted(scores["session"].unique())[:3]
    profile = estimate_profile(scores[scores["session"].isin(few)])
    rows = profile.estimates[profile.estimates["descriptor"] == "n0"].set_index("sample")
    found = read_back(profile).query("descriptor == 'n0'").set_index("sample")
    se = rows["se"].astype(float).loc[found.index]
    assert (found["noise_variance"] > 0.2 * se**2).all()
