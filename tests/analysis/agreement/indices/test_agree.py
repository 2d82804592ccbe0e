"""Intraclass correlations at the edge; the published examples are in tests/outside."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.agreement.indices.agree import intraclass

NO_DF = np.array(
    [
        [27.0, 49.5, 43.5, 43.5, 54.0, 55.5, 40.0, 60.0],
        [38.5, 48.0, 40.5, 55.5, 51.5, 60.0, 23.0, 62.5],
        [37.0, 40.0, 38.0, 53.0, 59.0, 59.0, 35.0, 59.0],
        [29.0, 45.0, 36.0, 64.0, 57.0, 56.0, 30.0, 59.0],
        [39.0, 43.0, 38.0, 52.0, 56.0, 55.0, 31.0, 66.0],
        [46.0, 45.0, 39.0, 46.0, 56.0, 39.0, 28.0, 78.0],
    ]
)
"""Like samples for which the interval of 2,1 has hardly a degree of freedom."""


@pytest.mark.filterwarnings("error")
def test_hardly_a_degree_of_freedom() -> None:
    found = intraclass(NO_DF)
    assert found is not None
    for form in ("2,1", "2,k"):
        assert np.isfinite([found[form].low, found[form].high]).all()
