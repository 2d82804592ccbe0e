"""The one model held to equal scales and noise, against lme4 on a real panel.

reshape2::french_fries over ten weeks, treatments as fixed samples, weeks as sessions:
``y ~ treatment + (1|subject) + (1|subject:treatment) + (1|time) + (1|subject:time)`` by
REML in R 4.2.2, lme4 1.1-31. Where lme4 stops short of zero its figure is taken for zero.
"""

from __future__ import annotations

from functools import cache

import pandas as pd
import pytest

from analysis.profile import DescriptorFit, Profile, ProfileSettings, estimate_profile
from tests.outside.real_panels import FRENCH_FRIES_NOTES, french_fries_weeks

PLAIN = ProfileSettings(
    equal_scale=True, equal_noise=True, degrees=None, fixed_samples=True, joint=False
)
# subject, time, subject:time, residual (subject:treatment is 0), log-likelihood, and the
# second and third treatment less the first
LME4 = {
    "potato": (
        (5.17795905768, 1.03950578342, 2.15029280433, 5.02491698988),
        (-1644.79249196, 0.113793103448, 0.06572217611),
    ),
    "buttery": (
        (3.48538156604, 0.160541434406, 0.310370115056, 2.08247882734),
        (-1302.83804192, 0.195434950329, -0.0598387456943),
    ),
    "grassy": (
        (0.255988467279, 0.055425863843, 0.0250515306991, 1.44001485681),
        (-1140.29737748, 0.0137931034483, 0.0302789140264),
    ),
    "rancid": (
        (2.51111737473, 0.531328038688, 2.65267423506, 8.88833546553),
        (-1819.63297378, -0.440948275862, -0.20147010405),
    ),
    "painty": (
        (1.39143390904, 1.45677003682, 2.47656043965, 6.56618702757),
        (-1723.15444452, -0.135928706074, -0.0646269995712),
    ),
}
NEAR = 1e-5


@cache
def fitted() -> Profile:
    wide = french_fries_weeks()
    frame = pd.DataFrame(
        {
            "session": wide["time"].astype(str),
            "assessor": wide["subject"].astype(str),
            "sample": wide["treatment"].astype(str),
            "replicate": wide["rep"],
        }
    ).join(wide[list(FRENCH_FRIES_NOTES)])
    long = frame.melt(
        id_vars=["session", "assessor", "sample", "replicate"],
        var_name="descriptor",
        value_name="score",
    )
    return estimate_profile(long, settings=PLAIN)


def fit_of(note: str) -> DescriptorFit:
    return fitted().fit(note)


@pytest.mark.parametrize("note", FRENCH_FRIES_NOTES)
def test_components_are_those_of_lme4(note: str) -> None:
    (subject, time, evening, residual), _ = LME4[note]
    found = fit_of(note)
    assert found.residual == pytest.approx(residual, rel=NEAR)
    assert found.variances["assessor"] == pytest.approx(subject, rel=NEAR)
    assert found.variances["session"] == pytest.approx(time, rel=NEAR)
    assert found.variances["assessor_session"] == pytest.approx(evening, rel=NEAR)
    assert found.variances["assessor_sample"] < 1e-6 * residual


@pytest.mark.parametrize("note", FRENCH_FRIES_NOTES)
def test_log_likelihood_and_means_are_those_of_lme4(note: str) -> None:
    _, (log_likelihood, second, third) = LME4[note]
    assert fit_of(note).log_likelihood == pytest.approx(log_likelihood, abs=1e-6)
    rows = fitted().estimates
    of_note = rows[rows["descriptor"] == note].set_index("sample")["estimate"]
    assert of_note["2"] - of_note["1"] == pytest.approx(second, rel=NEAR)
    assert of_note["3"] - of_note["1"] == pytest.approx(third, rel=NEAR)
