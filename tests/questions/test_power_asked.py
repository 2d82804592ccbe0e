"""What may be asked of how much a question needs."""

from __future__ import annotations

from datetime import date

import pytest

from panel.errors import PlanRefused
from panel.questions.power import PowerAsked, house_power
from panel.store.engine import Store


def test_no_two_casks_differ_by_more_than_the_line(store: Store) -> None:
    with store.read() as db, pytest.raises(PlanRefused, match="the line has 100"):
        house_power(db, PowerAsked(notes=("smoke",), points=200.0), as_of=date(2026, 3, 14))
