"""Order and consistency of ragged tables."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from analysis.agreement import AgreementSettings, assess_agreement
from analysis.agreement.indices.incomplete import consistency, rank_test
from tests.houses.worlds import Evening


@given(seed=st.integers(0, 10**6), levels=st.sampled_from([3, 50]))
def test_complete_tables_agree_with_friedman(seed: int, levels: int) -> None:
    """scipy.stats.friedmanchisquare, ties and all."""
    table = np.random.default_rng(seed).integers(0, levels, (5, 6)).astype(float)
    found = rank_test(table)
    if found is None:
        return
    peer = scipy.stats.friedmanchisquare(*table)
    assert (found.chi2, found.p) == pytest.approx((peer.statistic, peer.pvalue), rel=1e-8)


@given(seed=st.integers(0, 10**6))
def test_the_order_of_people_and_samples_does_not_matter(seed: int) -> None:
    rng = np.random.default_rng(seed)
    table = rng.normal(size=(6, 7))
    table[rng.random(table.shape) < 0.25] = np.nan
    one = rank_test(table)
    other = rank_test(table[rng.permutation(6)][:, rng.permutation(7)])
    if one is None or other is None:
        assert one is other
        return
    assert other.chi2 == pytest.approx(one.chi2, rel=1e-6)


def test_parts_without_a_link_cannot_be_tested() -> None:
    gap = np.nan
    assert rank_test(np.array([[1.0, gap], [2.0, gap], [gap, 1.0], [gap, 2.0]])) is None
    assert rank_test(np.array([[1.0, gap], [gap, 1.0]])) is None
    assert rank_test(np.array([[5.0, 5.0], [5.0, 5.0]])) is None


def test_consistency_of_one_sample_each_is_not_known() -> None:
    assert consistency(np.array([[7.0, 7.0], [7.0, 7.0]])) is None


def test_holes_bring_the_indices_that_need_no_complete_table() -> None:
    scores = Evening().scores()
    gone = (scores["assessor"] == "P0") & (scores["sample"] == "x0")
    quick = AgreementSettings(permutations=99, bootstraps=99)
    whole = assess_agreement(scores, settings=quick).descriptors[0]
    holed = assess_agreement(scores[~gone], settings=quick).descriptors[0]
    assert whole.icc_unbalanced is None
    assert whole.rank_test is None
    assert holed.icc_unbalanced is not None
    assert holed.rank_test is not None
    assert "7 of 8 assessors" in (holed.icc_note or "")
    assert holed.icc is not None
    assert holed.icc_unbalanced["3,k"] == pytest.approx(holed.icc["3,k"], abs=0.05)
