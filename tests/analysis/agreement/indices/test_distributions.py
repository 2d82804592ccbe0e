"""The quick tail areas against scipy.stats, which says the same more slowly."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from analysis.agreement.indices.distributions import (
    adjusted_for_many,
    chi2_lower,
    chi2_upper,
    f_quantile,
    f_upper,
    normal_density,
    ranks,
)

DF = st.floats(1.0, 500.0)


@given(f=st.floats(0.0, 60.0), one=DF, two=DF, below=st.floats(0.001, 0.999))
def test_f(f: float, one: float, two: float, below: float) -> None:
    assert f_upper(f, one, two) == pytest.approx(scipy.stats.f.sf(f, one, two), rel=1e-9)
    assert f_quantile(below, one, two) == pytest.approx(
        scipy.stats.f.ppf(below, one, two), rel=1e-7
    )


@given(chi2=st.floats(0.0, 300.0), df=DF)
def test_chi2(chi2: float, df: float) -> None:
    assert chi2_upper(chi2, df) == pytest.approx(scipy.stats.chi2.sf(chi2, df), rel=1e-9)
    assert chi2_lower(chi2, df) == pytest.approx(scipy.stats.chi2.cdf(chi2, df), rel=1e-9)


@given(x=st.floats(-30, 30), mean=st.floats(-3, 3), sd=st.floats(0.1, 9))
def test_normal(x: float, mean: float, sd: float) -> None:
    assert normal_density(x, mean, sd) == pytest.approx(
        scipy.stats.norm.pdf(x, mean, sd), rel=1e-9, abs=1e-300
    )


@given(seed=st.integers(0, 10**6))
def test_ranks_and_adjusted_p(seed: int) -> None:
    rng = np.random.default_rng(seed)
    table = rng.integers(0, 4, (6, 3)).astype(float)
    assert ranks(table).tolist() == scipy.stats.rankdata(table, axis=0).tolist()
    p = rng.random(7).round(1)
    wanted = scipy.stats.false_discovery_control(p, method="bh")
    assert adjusted_for_many(p) == pytest.approx(wanted)


def test_the_slow_ones_are_not_loaded() -> None:
    code = (
        "import sys, analysis.agreement, analysis.profile, analysis.target;"
        "sys.exit('scipy.stats' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
