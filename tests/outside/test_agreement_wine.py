"""Bitterness of wines by 9 judges (ordinal::wine; Randall 1989) against lme4 and base R.

R 4.2.2, lme4 1.1-31, lmerTest 3.1-3, psych 2.2.9.
"""

from __future__ import annotations

import numpy as np
import pytest

from analysis.agreement import assess_agreement
from analysis.agreement.indices.agree import concordance, intraclass
from analysis.agreement.indices.anova import two_way_mixed
from analysis.agreement.indices.layout import ScoreLayout
from tests.outside.real_panels import wine, wine_ratings


def test_treatments_in_two_bottles() -> None:
    have = assess_agreement(wine()).descriptor("bitter")
    effect = have.sample_effect
    assert effect.f == pytest.approx(25.1380875598, rel=1e-9)
    assert (effect.df_num, effect.df_den) == (3, 24)
    assert effect.p == pytest.approx(1.39197184869e-07, rel=1e-9)
    variance = have.variance
    assert variance.interaction == pytest.approx(15.6261615944, rel=1e-6)
    assert variance.assessor == pytest.approx(70.9884264525, rel=1e-6)
    assert variance.residual == pytest.approx(139.583330125, rel=1e-6)
    assert variance.log_likelihood == pytest.approx(-279.272700417, abs=1e-6)
    assert have.sample_effect_reml.df_den == pytest.approx(24.0, rel=1e-4)
    assert have.scaling.f_scaling == pytest.approx(1.22419267712, rel=1e-9)
    assert have.scaling.f_sample == pytest.approx(27.0166792757, rel=1e-9)


def test_sums_of_squares() -> None:
    anova = two_way_mixed(ScoreLayout.of(wine()))
    assert anova.squares == pytest.approx(
        {
            "sample": 12883.4444444,
            "assessor": 5909.94444444,
            "interaction": 4100.05555556,
            "error": 5025.0,
        },
        rel=1e-9,
    )
    assert anova.interaction is not None
    assert anova.interaction.p == pytest.approx(0.285797183144, rel=1e-9)


def test_bottles_without_replicates() -> None:
    """Eight bottles, once each: F stands although interaction and noise are one."""
    have = assess_agreement(wine(by="bottle")).descriptor("bitter")
    assert have.sample_effect.f == pytest.approx(11.8452319079, rel=1e-9)
    assert have.sample_effect.p == pytest.approx(3.79428172406e-09, rel=1e-8)
    assert have.variance.interaction is None
    assert have.variance.assessor == pytest.approx(72.5391865079, rel=1e-6)
    assert have.variance.note is not None
    assert "cannot be separated" in have.variance.note
    assert have.scaling.f_scaling == pytest.approx(1.21023763405, rel=1e-9)
    assert have.scaling.f_disagreement is None
    assert have.scaling.reason is not None
    assert have.icc == pytest.approx(
        {
            "1,1": 0.441862537225,
            "2,1": 0.452525599316,
            "3,1": 0.546490560465,
            "1,k": 0.876923983743,
            "2,k": 0.881504300127,
            "3,k": 0.91557784535,
        },
        rel=1e-9,
    )
    assert have.kendall_w == pytest.approx(0.614500442087, rel=1e-9)


def test_kendall_on_a_short_scale_needs_the_tie_correction() -> None:
    table = wine_ratings().to_numpy(dtype=float)
    found = concordance(table)
    assert found is not None
    assert found.w == pytest.approx(0.511348238482, rel=1e-9)  # 0.4437 without the correction
    assert found.chi2 == pytest.approx(32.2149390244, rel=1e-9)
    icc = intraclass(table)
    assert icc is not None
    assert icc["3,k"].value == pytest.approx(0.885914332784, rel=1e-9)
    assert icc["2,1"].low == pytest.approx(0.165161250396, rel=1e-8)
    assert np.isfinite(icc["2,k"].high)
