"""Notes on which everybody agrees to the last digit."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analysis.profile import ProfileSettings, estimate_profile


def exactly(levels: tuple[float, ...], assessors: int = 6, sessions: int = 2) -> pd.DataFrame:
    """Everybody gives each sample its level, in every session."""
    return pd.DataFrame(
        {
            "session": f"S{night}",
            "assessor": f"A{who}",
            "sample": f"W{sample}",
            "replicate": 1,
            "descriptor": "exact",
            "score": level,
        }
        for night in range(sessions)
        for who in range(assessors)
        for sample, level in enumerate(levels)
    )


@pytest.mark.parametrize("levels", [(0.0, 10.0, 20.0, 40.0), (50.0, 0.0, 0.0, 0.0)])
def test_perfect_agreement_stops_no_answer(levels: tuple[float, ...]) -> None:
    frame = exactly(levels)
    profile = estimate_profile(frame, settings=ProfileSettings(processes=1))
    rows = profile.estimates[profile.estimates["descriptor"] == "exact"].sort_values("sample")
    told = rows["estimate"].to_numpy(float)
    assert np.isfinite(told).all()
    assert pd.Series(told).corr(pd.Series(levels)) > 0.95
