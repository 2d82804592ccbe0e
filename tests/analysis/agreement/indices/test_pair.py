"""Two casks named beforehand; rates over many worlds in tests/bench/bench_words.py."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.agreement.indices.additive import additive
from analysis.agreement.indices.pair import pair_span

TABLE = np.array([[40.0, 42.0], [45.0, 50.0], [38.0, 40.0]])


def test_by_hand() -> None:
    """|d| + t se: d = 3, s2 = 2 with 2 degrees of freedom, t(.95, 2) = 2.920 [tables]."""
    found = pair_span(additive(TABLE), ["x", "y"], ("x", "y"), 10.0)
    assert found is not None
    assert found.difference == pytest.approx(-3.0)
    assert found.se == pytest.approx(1.0)
    assert found.at_most == pytest.approx(3.0 + 2.920 * 1.0, abs=1e-3)
    assert found.alike
    assert found.p_apart > 0.9


def test_far_apart_is_sure() -> None:
    """(23 - 10) / 1 = 13 with 2 degrees of freedom: p .0029 by the formula for two."""
    found = pair_span(additive(TABLE + np.array([20.0, 0.0])), ["x", "y"], ("x", "y"), 10.0)
    assert found is not None
    t = found.difference - 10.0
    assert found.p_apart == pytest.approx((1.0 - t / np.sqrt(2.0 + t * t)) / 2.0)
    assert not found.alike


def test_a_wider_error_is_taken_where_it_is_given() -> None:
    fit = additive(TABLE)
    plain = pair_span(fit, ["x", "y"], ("x", "y"), 10.0)
    wide = pair_span(fit, ["x", "y"], ("x", "y"), 10.0, (9.0, fit.df))
    assert plain is not None
    assert wide is not None
    assert wide.se == pytest.approx(9.0 * np.sqrt(2.0 / 3.0))
    assert not wide.alike
    assert wide.times > 1.0 > plain.times
    assert plain.times == pytest.approx((2.920 * 1.0 / 7.0) ** 2, rel=1e-3)


def test_an_error_on_fewer_degrees_of_freedom_counts_as_such() -> None:
    """One degree of freedom: t(.95, 1) = 6.314 [tables], p = 1/2 - arctan(t) / pi by Cauchy."""
    fit = additive(TABLE + np.array([20.0, 0.0]))
    found = pair_span(fit, ["x", "y"], ("x", "y"), 10.0, (float(np.sqrt(1.5)), 1))
    assert found is not None
    assert found.at_most == pytest.approx(found.difference + 6.314 * 1.0, abs=1e-3)
    t = (found.difference - 10.0) / 1.0
    assert found.p_apart == pytest.approx(0.5 - np.arctan(t) / np.pi)


def test_who_is_not_there() -> None:
    with pytest.raises(KeyError):
        pair_span(additive(TABLE), ["x", "y"], ("x", "z"), 10.0)


def test_one_assessor_says_nothing() -> None:
    assert pair_span(additive(TABLE[:1]), ["x", "y"], ("x", "y"), 10.0) is None


def test_how_much_more_would_decide() -> None:
    """3 points lie 7 within the tolerance, and t se is 2.920: (2.920 / 7)^2 of such a session."""
    found = pair_span(additive(TABLE), ["x", "y"], ("x", "y"), 10.0)
    assert found is not None
    assert found.times == pytest.approx((2.920 / 7.0) ** 2, abs=1e-3)
    at_the_edge = pair_span(additive(TABLE), ["x", "y"], ("x", "y"), 3.0)
    assert at_the_edge is not None
    assert at_the_edge.times > 1e6


def test_one_degree_of_freedom_is_enough() -> None:
    """Two assessors of two samples: d = -3.5, se = 1.5, t(.95, 1) = 6.314 [tables]."""
    found = pair_span(additive(TABLE[:2]), ["x", "y"], ("x", "y"), 10.0)
    assert found is not None
    assert found.at_most == pytest.approx(3.5 + 6.314 * 1.5, abs=1e-2)
