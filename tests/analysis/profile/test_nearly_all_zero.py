"""Notes that hardly any glass has: the fit settles, and says what it could not tell."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analysis.profile import Profile, estimate_profile


def musty(seed: int, n_samples: int = 90) -> pd.DataFrame:
    """Two musty casks in ninety, which five of nine smell; a stray mark here and there."""
    rng = np.random.default_rng(seed)
    people = {name: i < 5 for i, name in enumerate("ABCDEFGHI")}
    rows = []
    for i in range(n_samples):
        for session in (f"S{i % 15}", f"S{(i + 7) % 15}"):
            for name, smells in people.items():
                there = smells and i < 2
                score = rng.normal(55.0, 7.0) if there else 8.0 * (rng.random() < 0.005)
                rows.append((session, name, f"SW{i:02d}", "damp cellar", float(round(score))))
    frame = pd.DataFrame(rows, columns=["session", "assessor", "sample", "descriptor", "score"])
    return frame.assign(replicate=1, held_on=pd.Timestamp("2026-03-01"))


def fitted(seed: int) -> Profile:
    return estimate_profile(musty(seed))


@pytest.mark.parametrize("seed", range(4))
def test_the_fit_settles_and_finds_the_two(seed: int) -> None:
    found = fitted(seed)
    fit = found.fits[0]
    assert fit.reason is None
    assert fit.rounds < 40
    rows = found.estimates.set_index("sample")
    # Five of nine people at 55: the panel's mean is 30.6.
    assert rows.loc[["SW00", "SW01"], "estimate"].to_numpy(dtype=float) == pytest.approx(
        [30.6, 30.6], abs=4.0
    )
    assert rows["estimate"].drop(["SW00", "SW01"]).max() < 3.0


def test_scales_are_held_equal_and_the_reason_names_the_scores() -> None:
    fit = fitted(1).fits[0]
    assert set(fit.scale.values()) == {1.0}
    assert "scores lie above 0" in fit.left_out["scale"]
    assert "look at those glasses" in fit.left_out["noise"]


def test_what_was_found_is_less_sure_than_the_residuals_of_zeros_say() -> None:
    """Five people off by 7 in two sessions each: the panel's mean by 7 * sqrt(5 / 2) / 9 = 1.2."""
    rows = fitted(2).estimates.set_index("sample")
    assert 0.5 < float(rows["se"].loc["SW00"]) < 3.0
