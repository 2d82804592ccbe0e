"""The one model held to equal scales and noise, beside statsmodels on a real panel.

reshape2::french_fries, its first weeks, treatments as fixed samples, weeks as sessions, by REML:
statsmodels' MixedLM with the crossed effects as variance components of one group, those that
are zero left out of it. Here it settles; on the other notes and weeks it stops at a likelihood
below ours. Its own small components are good to a ten-thousandth of the noise.
"""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.profile import ProfileSettings, estimate_profile
from tests.outside.real_panels import french_fries_weeks

PLAIN = ProfileSettings(
    equal_scale=True, equal_noise=True, degrees=None, fixed_samples=True, joint=False
)
TERMS = {
    "assessor": ["subject"],
    "assessor_sample": ["subject", "treatment"],
    "session": ["time"],
    "assessor_session": ["subject", "time"],
}
SETTLES = [
    ("grassy", 3, ("assessor", "assessor_sample", "session", "assessor_session")),
    ("rancid", 3, ("assessor", "session", "assessor_session")),
    ("buttery", 4, ("assessor", "session", "assessor_session")),
]


def panel(weeks: int) -> pd.DataFrame:
    wide = french_fries_weeks()
    return wide[wide["time"].astype(int) <= weeks].reset_index(drop=True)


def peer(wide: pd.DataFrame, note: str, terms: tuple[str, ...]) -> Any:
    from statsmodels.regression.mixed_linear_model import MixedLM

    def table(columns: list[str]) -> np.ndarray:
        codes = wide.groupby([wide[name].astype(str) for name in columns]).ngroup().to_numpy()
        return np.eye(int(codes.max()) + 1)[codes]

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns of its own convergence checks
        return MixedLM(
            wide[note].to_numpy(float),
            table(["treatment"]),
            groups=np.ones(len(wide)),
            exog_vc={name: {1.0: table(TERMS[name])} for name in terms},
        ).fit(reml=True, method=["lbfgs"], gtol=1e-9, maxiter=500)


@pytest.mark.parametrize(("note", "weeks", "terms"), SETTLES)
def test_components_and_log_likelihood_are_those_of_statsmodels(
    note: str, weeks: int, terms: tuple[str, ...]
) -> None:
    wide = panel(weeks)
    wanted = peer(wide, note, terms)
    assert wanted.converged
    scores = pd.DataFrame(
        {
            "session": wide["time"].astype(str),
            "assessor": wide["subject"].astype(str),
            "sample": wide["treatment"].astype(str),
            "replicate": wide["rep"],
            "descriptor": note,
            "score": wide[note],
        }
    )
    profile = estimate_profile(scores, settings=PLAIN)
    found = profile.fit(note)
    assert found.log_likelihood == pytest.approx(wanted.llf, abs=1e-6)
    assert found.residual == pytest.approx(wanted.scale, rel=2e-4)
    for name, component in zip(wanted.model.exog_vc.names, wanted.vcomp, strict=True):
        near = pytest.approx(component, rel=1e-3, abs=5e-5 * wanted.scale)
        assert found.variances[name] == near
    for name in set(TERMS) - set(terms):
        assert found.variances[name] < 1e-6 * wanted.scale
    means = profile.estimates.set_index("sample")["estimate"]
    levels = wanted.fe_params
    assert means["2"] - means["1"] == pytest.approx(levels[1] - levels[0], rel=1e-4)
    assert means["3"] - means["1"] == pytest.approx(levels[2] - levels[0], rel=1e-4)
