"""What is refused before anything is looked for: holds and their reasons."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.vatting.check import check
from analysis.vatting.faults import LimitsError
from tests.analysis.vatting.test_rows_by_hand import (
    TARGET,
    THREE,
    plain,
)


def test_only_a_hold_has_the_reason_of_the_hold_beside_it() -> None:
    stock = plain(4, status=["leaking", *["filled"] * 3], hold_reason=["cork", *[None] * 3])
    with pytest.raises(LimitsError) as refused:
        check(stock, TARGET, replace(THREE, must_include=("C000",)))
    said = [fault.text for fault in refused.value.faults]
    assert sum("(cork)" in one for one in said) == 1
    assert len([one for one in said if "C000 must be in" in one]) == 2
