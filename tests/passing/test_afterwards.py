"""What is told of a passing session afterwards: casks nobody nosed, and how each stands now."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from panel.errors import PlanRefused
from panel.kinds import Fault
from panel.questions.passing import passing_answer
from panel.records.lifting import lift_passing_hold
from panel.session.passing_asked import PassingAsked
from panel.session.plan import plan_session
from panel.session.seal import seal_session
from panel.session.seats import change_seats
from panel.session.stages import open_session
from panel.session.summary import summarise
from panel.store.engine import Store
from tests.houses.to_pass import PLAN, answer, build_to_pass, good_nose, to_open, to_reveal

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


def test_each_held_cask_says_how_it_stands_now(house: Store, fixed_now: datetime) -> None:
    to_open(house, fixed_now, name="P1")
    held = {"D5", "D6"}
    answer(house, "P1", fixed_now, lambda _, at: (Fault.SOAPY,) if at in held else ())
    to_reveal(house, "P1", fixed_now)
    first = said(house, "P1")
    assert "4006 (D6) is to nose again: soapy, held by one nose." in first
    assert "`oakpanel session plan NAME --again P1`" in first
    later = fixed_now + timedelta(days=1)
    with pytest.raises(PlanRefused, match="leave out how many casks"):
        to_open(house, later, name="P2", passing=PassingAsked(again_of="P1", casks=5))
    to_open(house, later, name="P2", assessors=("A2",), passing=PassingAsked(again_of="P1"))
    with house.read() as db:
        warned = " ".join(summarise(db, "P2").warnings)
    assert "where a nose of P1 held the cask already this is the second nose" in warned
    assert "no cask is at fault before that" not in warned
    assert "casks are few" not in warned
    answer(house, "P2", later, lambda _, at: (Fault.SOLVENT,) if at == "D5" else ())
    to_reveal(house, "P2", later)
    on = "on do-not-empty: solvent, soapy, held by 2 noses in P1 and P2."
    first, second = said(house, "P1"), said(house, "P2")
    assert f"4005 (D5) was to nose again that day: soapy, held by one nose. Now it is {on}" in first
    assert f"4005 (D5) was held that day: solvent, held by 2 noses. Now it is {on}" in second
    assert "--again" not in first
    assert second.startswith("9 passed (1 of them still on do-not-empty), 0 to nose again, 1 held.")
    assert "passed since in P2: somebody else than who held it may lift the hold" in second
    with house.write() as db:
        lift_passing_hold(db, "4006", now=later, by="L1")
    assert f"Now the hold is lifted, on {later.date()}." in said(house, "P1")
    assert "D6" not in said(house, "P2")


def said(house: Store, name: str) -> str:
    with house.read() as db:
        return " ".join(passing_answer(db, name).result.sentences)
