"""What a row of casks is barred by, and its figures."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.bars import Bar
from analysis.vatting.records import _facts, bars_in
from tests.analysis.vatting.test_rows_by_hand import (
    plain,
)


@pytest.mark.parametrize(
    ("row", "bars"),
    [
        ({"status": "filled"}, set()),
        ({"status": "emptied"}, {Bar.GONE}),
        ({"status": "leaking"}, {Bar.LEAKING}),
        ({"status": "on hold"}, {Bar.HOLD}),
        ({"hold_reason": "cork"}, {Bar.HOLD}),
        ({"owner": "Mill Trust"}, {Bar.OWNER}),
        ({"owner": None, "hold_reason": "", "status": np.nan}, set()),
        ({"status": "reserved"}, {Bar.RESERVED}),
        ({"status": "reserved", "reserved_l": 0.0}, {Bar.RESERVED}),
        ({"status": "reserved", "reserved_l": 40.0}, {Bar.PARTLY_RESERVED}),
        ({"reserved_l": 40.0}, {Bar.PARTLY_RESERVED}),
    ],
)
def test_what_a_row_of_casks_is_barred_by(row: dict[str, Any], bars: set[Bar]) -> None:
    casks = plain(1).casks.assign(**{name: [value] for name, value in row.items()})
    assert {each.bar for each in bars_in(casks)[0]} == bars


def test_a_row_that_says_nothing_has_no_figures() -> None:
    facts = _facts({"bulk_l": np.nan, "abv": 60.0, "gauge_age_years": pd.NA})
    assert (facts.bulk_litres, facts.abv_percent, facts.gauge_age_years) == (None, 60.0, None)
