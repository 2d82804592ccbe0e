"""What may be asked of how much a question needs."""

from __future__ import annotations

from datetime import date

import pytest

from panel.errors import PlanRefused
from panel.questions.power import PowerAsked, asked_notes, house_power
from panel.store.engine import Store
from tests.houses.parts import descriptor


def test_no_two_casks_differ_by_more_than_the_line(store: Store) -> None:
    with store.read() as db, pytest.raises(PlanRefused, match="the line has 100"):
        house_power(db, PowerAsked(notes=("smoke",), points=200.0), as_of=date(2026, 3, 14))


def test_of_a_day_before_a_note_came_in_it_is_asked_about_all_the_same(store: Store) -> None:
    with store.write() as db:
        version = descriptor("smoke")
        version.introduced_on = date(2020, 1, 1)
        db.add(version)
    with store.read() as db:
        assert asked_notes(db, PowerAsked(), None, date(2019, 1, 1)) == ("smoke",)
