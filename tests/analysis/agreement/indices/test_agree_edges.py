"""Intraclass correlations where two assessors leave nothing to divide by."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.agreement.indices.agree import intraclass


@pytest.mark.parametrize("table", [[[0.0, 3.0], [1.0, 1.0]], [[1.0, 0.0], [0.0, 2.0], [0.0, 2.0]]])
def test_hardly_any_agreement_has_no_lower_bound_and_stops_nothing(
    table: list[list[float]],
) -> None:
    found = intraclass(np.array(table))
    assert found is not None
    assert found["2,k"].low == -np.inf
    assert found["2,k"].value <= found["2,k"].high or np.isnan(found["2,k"].value)
