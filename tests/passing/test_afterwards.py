"""What is told of a passing session afterwards: casks nobody nosed, and how each stands now."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import pytest

from panel.questions.passing import passing_answer
from panel.session.plan import plan_session
from panel.session.seal import seal_session
from panel.session.seats import change_seats
from panel.session.stages import open_session
from panel.store.engine import Store
from tests.houses.to_pass import PLAN, answer, build_to_pass, good_nose, to_reveal

CASKS = 23
"""One of the 24 of the house is known to be sound."""


@pytest.fixture
def house(store: Store, fixed_now: datetime) -> Store:
    build_to_pass(store, fixed_now)
    return store


def test_casks_that_nobody_nosed_are_neither_passed_nor_held(
    house: Store, fixed_now: datetime
) -> None:
    plan = replace(PLAN, assessors=("A1", "A2"), glasses_each=15)
    with house.write() as db:
        plan_session(db, plan, now=fixed_now, by="L1")
    with house.write() as db:
        seal_session(db, "morning", now=fixed_now, by="L1")
    with house.write() as db:
        notes = change_seats(db, "morning", absent=("A2",), now=fixed_now, by="L1").notes
    assert any("8 casks stand on no tray that is left" in note for note in notes)
    with house.write() as db:
        open_session(db, "morning", now=fixed_now, by="L1")
    answer(house, "morning", fixed_now, good_nose)
    (left,) = (one for one in to_reveal(house, "morning", fixed_now) if "nobody" in one)
    with house.read() as db:
        found = passing_answer(db, "morning").result
    assert found.sentences[0] == "15 passed, 0 to nose again, 0 held, 8 nosed by nobody."
    assert left in found.sentences
    assert len(found.casks) == CASKS
    assert sum(cask.state.value == "nosed by nobody" for cask in found.casks) == 8
