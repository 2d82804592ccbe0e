"""A parcel that takes several mornings: the next casks of it, and casks shared among noses."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import datetime

import pytest

from panel.desk.plan_entry import read_plan, values_of
from panel.errors import PlanRefused
from panel.kinds import ServingStatus
from panel.records.settings import change_setting
from panel.session.assigned import Assigned
from panel.session.drafts import planned_again
from panel.session.passing_asked import PassingAsked
from panel.session.passing_mornings import left_of_parcel
from panel.session.plan import plan_session
from panel.session.plan_parts import SessionPlan
from panel.session.summary import PlanSummary
from panel.store.engine import Store
from tests.houses.to_pass import (
    PARCEL,
    PLAN,
    answer,
    behind,
    build_to_pass,
    good_nose,
    to_open,
    to_reveal,
)
from tests.houses.to_plan import HELD_ON

CASKS = 71
"""One of them is known to be sound, so 70 are to be passed."""


@pytest.fixture
def house(store: Store, fixed_now: datetime) -> Store:
    build_to_pass(store, fixed_now, casks=CASKS)
    return store


def planned(house: Store, now: datetime, **changes: object) -> PlanSummary:
    plan = replace(PLAN, **changes)  # type: ignore[arg-type]
    with house.write() as db:
        return plan_session(db, plan, now=now, by="L1")


def refused(house: Store, now: datetime, **changes: object) -> str:
    with pytest.raises(PlanRefused) as why:
        planned(house, now, **changes)
    return str(why.value)


def plan_of(house: Store, name: str) -> SessionPlan:
    with house.read() as db:
        return planned_again(db, name)


def next_(casks: int) -> PassingAsked:
    return PassingAsked(parcel=PARCEL, casks=casks)


def poured(summary: PlanSummary) -> set[str]:
    return {need.draw for need in summary.draws if need.draw.startswith("D") and need.draw != "D1"}


def test_a_parcel_too_large_tells_both_ways_out(house: Store, fixed_now: datetime) -> None:
    said = refused(house, fixed_now)
    assert "70 casks on one tray; a nose passes 60 a morning at the most." in said
    assert "(--casks 60; the field Casks)" in said
    assert "--each" not in said
    assert "(--each 35; the field Draws each)" in refused(house, fixed_now, assessors=("A1", "A2"))
    with house.write() as db:
        change_setting(db, "passing_blocks_a_day", "4", now=fixed_now, by="L1")
    # 44 casks and 4 of them again are the 48 glasses of four blocks.
    assert "(--casks 44; the field Casks)" in refused(house, fixed_now)
    assert poured(planned(house, fixed_now, passing=next_(44)))


def test_the_next_plan_takes_the_next_casks(house: Store, fixed_now: datetime) -> None:
    first = planned(house, fixed_now, passing=next_(60))
    with house.read() as db:
        left = left_of_parcel(db, PARCEL, HELD_ON)
    assert (len(poured(first)), len(left)) == (60, 10)
    assert not poured(first) & set(left)
    assert f"of the parcel {PARCEL} D1 is kept as known sound and not among its casks to pass." in (
        first.warnings
    )
    assert any(
        f"10 more wait for another morning, {left[0]} to {left[-1]}" in w for w in first.warnings
    )
    second = planned(house, fixed_now, name="second", passing=next_(60))
    assert poured(second) == set(left)
    assert not any("wait for another morning" in warning for warning in second.warnings)
    said = refused(house, fixed_now, name="third", passing=next_(60))
    assert "is taken by its newest sample, in morning (draft) and second (draft)." in said
    assert "leave out" not in said
    whole = refused(house, fixed_now, name="third")
    assert "Name 60 or fewer (--draw; the field Draws), with no parcel" in whole
    assert "--casks" not in whole
    again = planned(house, fixed_now, passing=next_(60))
    assert poured(again) == poured(first), "a draft that is planned anew takes its own casks"
    named = tuple(sorted(poured(first)))
    by_name = planned(house, fixed_now, name="third", draws=named, passing=PassingAsked())
    assert poured(by_name) == set(named)


def test_casks_that_nobody_could_nose_wait_again(house: Store, fixed_now: datetime) -> None:
    to_open(house, fixed_now, passing=next_(40))
    answer(house, "morning", fixed_now, good_nose)
    with house.write() as db:
        casks = (row for row in behind(db, "morning") if row[2].startswith("D"))
        spilled = next(row for row in casks if row[2] != "D1")
        for serving, _, label in behind(db, "morning"):
            if label == spilled[2]:
                serving.status = ServingStatus.VOID
        before = left_of_parcel(db, PARCEL, HELD_ON)
    assert spilled[2] not in before, "what was not nosed would tell which cask a code is"
    said = to_reveal(house, "morning", fixed_now)
    assert f"Nosed by nobody, so neither passed nor held: 1 ({spilled[2]})." in said
    with house.read() as db:
        assert set(left_of_parcel(db, PARCEL, HELD_ON)) == {*before, spilled[2]}


def test_a_draft_of_some_casks_is_planned_again_as_it_was(
    house: Store, fixed_now: datetime
) -> None:
    first = planned(house, fixed_now, passing=next_(30))
    with house.read() as db:
        drafted = planned_again(db, "morning")
        again, faults = read_plan(values_of(drafted))
    assert (faults, again) == ({}, drafted)
    assert drafted.passing == next_(30)
    with house.write() as db:
        assert poured(plan_session(db, drafted, now=fixed_now, by="L1")) == poured(first)
    fewer = replace(drafted, passing=next_(20))
    with house.write() as db:
        assert len(poured(plan_session(db, fewer, now=fixed_now, by="L1"))) == 20


def test_casks_are_shared_so_that_each_is_nosed(house: Store, fixed_now: datetime) -> None:
    shares = {"assessors": ("A1", "A2", "A3"), "glasses_each": 30}
    summary = planned(house, fixed_now, **shares)
    assert any("50 casks stand on one tray only" in warning for warning in summary.warnings)
    assert not summary.trays, "who noses which is not told"
    assert plan_of(house, "morning").glasses_each == 30
    to_open(house, fixed_now, **shares, seed=None)
    with house.read() as db:
        own = {(who, label) for _, who, label in behind(db, "morning") if label in poured(summary)}
    times = Counter(label for _, label in own)
    assert Counter(who for who, _ in own) == {"A1": 30, "A2": 30, "A3": 30}
    assert (len(times), Counter(times.values())) == (70, {1: 50, 2: 20})


def test_shares_that_leave_a_cask_out_are_refused(house: Store, fixed_now: datetime) -> None:
    said = refused(house, fixed_now, assessors=("A1", "A2"), glasses_each=30)
    assert "2 noses with 30 each leave 10 of 70 casks that nobody noses: give each 35" in said


def test_casks_assigned_to_one_nose_each_need_no_link(house: Store, fixed_now: datetime) -> None:
    pairs = [Assigned("A1" if n % 2 else "A2", f"D{n}") for n in range(2, 42)]
    summary = planned(
        house, fixed_now, assessors=("A1", "A2"), passing=PassingAsked(), assigned=tuple(pairs)
    )
    assert len(poured(summary)) == 40


@pytest.mark.parametrize(
    ("asked", "said"),
    [(PassingAsked(casks=5), "name it too"), (next_(0), "one is passed at the least")],
)
def test_a_number_of_casks_goes_with_a_parcel(
    house: Store, fixed_now: datetime, asked: PassingAsked, said: str
) -> None:
    assert said in refused(house, fixed_now, draws=("D2",), passing=asked)
