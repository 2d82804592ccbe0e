"""Agreement indices against published worked examples, and REML against another program."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
import scipy.stats

from analysis.agreement.indices.agree import concordance, intraclass
from analysis.agreement.indices.anova import two_way_mixed
from analysis.agreement.indices.crossed import CrossedDesign
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.indices.reml import fit_reml
from analysis.agreement.indices.scaling import mixed_assessor_model

# Shrout & Fleiss (1979), Psychological Bulletin 86:420-428, table 2: six targets, four judges.
RATINGS = np.array(
    [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]],
    dtype=float,
)


def test_shrout_and_fleiss() -> None:
    """Published to two digits; the longer ones and the intervals are of psych 2.2.9."""
    found = intraclass(RATINGS)
    assert found is not None
    assert {form: round(part.value, 2) for form, part in found.items()} == {
        "1,1": 0.17,
        "2,1": 0.29,
        "3,1": 0.71,
        "1,k": 0.44,
        "2,k": 0.62,
        "3,k": 0.91,
    }
    bounds = {
        "1,1": (-0.132932324875, 0.722560062328),
        "2,1": (0.0187865133747, 0.761084369649),
        "3,1": (0.342464765034, 0.945858259955),
        "1,k": (-0.884442155238, 0.912415420341),
        "2,k": (0.0711368153025, 0.927232040168),
        "3,k": (0.675674713816, 0.985891678169),
    }
    for form, wanted in bounds.items():
        assert (found[form].low, found[form].high) == pytest.approx(wanted, rel=1e-8)


def test_kendall_of_the_same_ratings() -> None:
    """W = .8870, chi2 = 17.7407, p = .00329: computed, and checked by scipy's Friedman."""
    found = concordance(RATINGS)
    assert found is not None
    assert found.w == pytest.approx(0.8870, abs=5e-5)
    assert found.chi2 == pytest.approx(17.7407, abs=5e-5)
    peer = scipy.stats.friedmanchisquare(*RATINGS)
    assert (found.chi2, found.p) == pytest.approx((peer.statistic, peer.pvalue), rel=1e-10)


def test_kendall_with_ties() -> None:
    """Kendall (1948), chapter 6, as in Siegel (1956), p. 234; data and W = .828 from memory."""
    judges = np.array(
        [
            [1, 4.5, 2, 4.5, 3, 7.5, 6, 9, 7.5, 10],
            [2.5, 1, 2.5, 4.5, 4.5, 8, 9, 6.5, 10, 6.5],
            [2, 1, 4.5, 4.5, 4.5, 4.5, 8, 8, 8, 10],
        ]
    )
    found = concordance(judges.T)
    assert found is not None
    assert found.w == pytest.approx(0.828, abs=5e-4)


def test_friedman_rounding_times() -> None:
    """R 4.2.2, example of friedman.test (Hollander & Wolfe 1973, p. 140): 11.143, p .003805."""
    times = np.array(
        [
            [5.4, 5.5, 5.55], [5.85, 5.7, 5.75], [5.2, 5.6, 5.5], [5.55, 5.5, 5.4],
            [5.9, 5.85, 5.7], [5.45, 5.55, 5.6], [5.4, 5.4, 5.35], [5.45, 5.5, 5.35],
            [5.25, 5.15, 5.0], [5.85, 5.8, 5.7], [5.25, 5.2, 5.1], [5.65, 5.55, 5.45],
            [5.6, 5.35, 5.45], [5.05, 5.0, 4.95], [5.5, 5.5, 5.4], [5.45, 5.55, 5.5],
            [5.55, 5.55, 5.35], [5.45, 5.5, 5.55], [5.5, 5.45, 5.25], [5.65, 5.6, 5.4],
            [5.7, 5.65, 5.55], [6.3, 6.3, 6.25],
        ]
    )  # fmt: skip
    found = concordance(times.T)
    assert found is not None
    assert found.chi2 == pytest.approx(11.143, abs=5e-4)
    assert found.p == pytest.approx(0.003805, abs=5e-7)


def test_mixed_assessor_model_by_a_second_route() -> None:
    """Four people, four samples, twice (made up): figures got by nested least squares too."""
    tables = [
        [[20, 24], [40, 44], [60, 60], [30, 34]],
        [[35, 37], [45, 45], [54, 56], [41, 41]],
        [[10, 16], [50, 44], [72, 70], [22, 30]],
        [[30, 28], [38, 46], [58, 62], [40, 34]],
    ]
    i, j, _ = np.indices((4, 4, 2)).reshape(3, -1)
    layout = ScoreLayout(tuple("ABCD"), tuple("wxyz"), i, j, np.array(tables, dtype=float).ravel())
    anova = two_way_mixed(layout)
    assert anova.squares == pytest.approx(
        {"sample": 5873.5, "assessor": 148.5, "interaction": 993.5, "error": 158.0}
    )
    assert anova.sample is not None
    assert anova.sample.f == pytest.approx(17.736, abs=5e-4)
    found = mixed_assessor_model(layout)
    assert not isinstance(found, str)
    assert found.squares["scaling"] == pytest.approx(947.6142, abs=5e-5)
    assert found.squares["disagreement"] == pytest.approx(45.8858, abs=5e-5)
    assert found.slopes.tolist() == pytest.approx([1.0358, 0.5140, 1.6166, 0.8336], abs=5e-5)
    assert found.sample.f == pytest.approx(256.005, abs=5e-4)
    assert found.scaling.f == pytest.approx(41.303, abs=5e-4)
    assert found.disagreement is not None
    assert found.disagreement.f == pytest.approx(0.774, abs=5e-4)
    # Nested least squares: own slope and level for each assessor on the panel means.
    means = layout.means
    x = means.mean(axis=0) - means.mean()
    left = sum(
        float(np.linalg.lstsq(np.stack([np.ones(4), x], axis=1), row, rcond=None)[1][0])
        for row in means
    )
    assert 2.0 * left == pytest.approx(found.squares["disagreement"], rel=1e-10)


def test_reml_beside_statsmodels() -> None:
    """statsmodels 0.14+ MixedLM, crossed effects as variance components in one group."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    rng = np.random.default_rng(11)
    assessor, sample = np.repeat(np.arange(7), 10), np.tile(np.repeat(np.arange(5), 2), 7)
    cell = assessor * 5 + sample
    y = 40 + 6.0 * sample + rng.normal(0, 8, 7)[assessor] + rng.normal(0, 5, 35)[cell]
    y = y + rng.normal(0, 4, 70)
    keep = np.delete(np.arange(70), [3, 17, 40, 41])
    fixed = np.eye(5)[sample[keep]]
    design = CrossedDesign(
        fixed,
        {
            "assessor": assessor[keep],
            "interaction": np.unique(cell[keep], return_inverse=True)[1],
        },
    )
    fit = fit_reml(design, y[keep])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns of its own convergence checks
        peer = MixedLM(
            y[keep],
            fixed,
            groups=np.ones(len(keep)),
            exog_vc={
                "assessor": {1.0: np.eye(7)[assessor[keep]]},
                "interaction": {1.0: np.eye(35)[cell[keep]][:, np.unique(cell[keep])]},
            },
        ).fit(reml=True, method="lbfgs", gtol=1e-9)
    assert fit.log_likelihood >= peer.llf - 1e-6
    assert fit.log_likelihood == pytest.approx(peer.llf, abs=1e-3)
    assert fit.beta == pytest.approx(peer.fe_params, rel=1e-4)
    assert fit.residual == pytest.approx(peer.scale, rel=1e-3)
    assert [fit.components["assessor"], fit.components["interaction"]] == pytest.approx(
        list(peer.vcomp), rel=1e-2
    )
