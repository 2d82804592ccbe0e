"""Traced sessions from plan to finding."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from panel.errors import BoothError, PlanRefused, WrongState
from panel.questions.kinds import session_answer
from panel.records.settings import change_setting
from panel.seat.jobs import KeepPrompt, TakeUp, perform
from panel.session.drafts import planned_again
from panel.session.plan import plan_session
from panel.session.progress import session_progress
from panel.store import booth_queries as booth
from panel.store.engine import Store
from panel.store.sessions import Serving
from panel.words.kinds import SESSION_LINES, Part
from tests.conftest import FIXED_NOW
from tests.houses.in_sets import LEAD, opened, revealed
from tests.houses.to_plan import build_to_plan
from tests.houses.traced import NAME, bursts, kept_trace, trace_all, trace_plan


@pytest.fixture
def house(store: Store) -> Store:
    build_to_plan(store)
    return store


def planned(store: Store, **changes: object) -> str:
    with store.write() as db:
        said = plan_session(db, trace_plan(**changes), now=FIXED_NOW, by=LEAD).lines()  # type: ignore[arg-type]
        db.rollback()
    return "\n".join(said)


def test_a_plan_says_what_it_can_tell_and_what_is_drunk_of_it(house: Store) -> None:
    said = planned(house)
    assert "Traced: wet slate, 0 to 9, at 0, 5, 10, 20, 30, 45, 60 s after the sip" in said
    assert "nothing is swallowed" in said
    assert "2 glasses each in one flight; 10 mL" in said
    assert "Tasted; one tray holds 3.2 g if all were swallowed" in said
    assert "a mild difference in" in said
    assert "23 people who trace both" in said
    assert "no draw is poured twice" not in said
    assert "a pause of 60 s is short after a sip" in said
    assert "first one" not in planned(house, draws=("D1",))


def test_a_plan_that_is_none_is_refused_with_every_reason(house: Store) -> None:
    wrong = trace_plan(
        draws=("D1", "D2", "D3"),
        descriptors=("wet slate", "fig"),
        reference="R0",
        pour_ml=20.0,
        replicates=2,
    )
    with pytest.raises(PlanRefused) as refused, house.write() as db:
        plan_session(db, wrong, now=FIXED_NOW, by=LEAD)
    for said in (
        "one sip tells one sensation; the plan names 2",
        "neither a reference nor a warm-up",
        "20 mL a glass: a sip to trace has 5 to 10 mL",
        "each draw is poured once",
        "of a trace the house serves 2",
    ):
        assert said in str(refused.value)


def test_the_dose_holds_for_traces_too(house: Store) -> None:
    with house.write() as db:
        change_setting(db, "dose_session_g", "0.5", now=FIXED_NOW, by=LEAD)
    with pytest.raises(PlanRefused, match="g of ethanol each"):
        planned(house)


def test_a_draft_is_planned_again_as_it_was(house: Store) -> None:
    with house.write() as db:
        plan_session(db, trace_plan(), now=FIXED_NOW, by=LEAD)
    with house.write() as db:
        again = planned_again(db, NAME)
        assert plan_session(db, again, now=FIXED_NOW, by=LEAD).glasses_an_assessor == 2
    assert (again.duplicates, again.pour_ml, again.kind.facts.traced) == ((), 10.0, True)


def test_an_answer_keeps_the_second_it_came_at(house: Store) -> None:
    opened(house, trace_plan())
    with house.write() as db:
        seat = booth.take_seat(db, NAME, "A1", now=FIXED_NOW)
    with house.read() as db:
        code = next(g.code for g in db.scalars(select(Serving)) if g.person.code == "A1")
    tray = perform(house, seat, TakeUp(code), FIXED_NOW)
    glass = next(g.serving_id for g in tray.glasses if g.code == code)

    def refused(number: int, at_s: float | None = None) -> str:
        with pytest.raises(BoothError) as error:
            perform(house, seat, KeepPrompt(glass, number, 4, at_s), FIXED_NOW)
        return str(error.value)

    assert "The minute begins with the answer at 0 s" in refused(2)
    assert kept_trace(house, "A1", code) == {}
    perform(house, seat, KeepPrompt(glass, 1, 0), FIXED_NOW)
    assert "10 s is not there yet" in refused(3, 8.0)
    assert "kept already" in refused(1)
    assert "not asked for" in refused(9)
    perform(house, seat, KeepPrompt(glass, 2, 7, 11.504), FIXED_NOW)
    perform(house, seat, KeepPrompt(glass, 7, 3, 400.0), FIXED_NOW)
    assert kept_trace(house, "A1", code) == {1: 0, 101: 0, 2: 7, 102: 11.5, 7: 3, 107: 100}
    with house.read() as db:
        seat_now = session_progress(db, NAME).seats[0]
    assert [glass.n_scored for glass in seat_now.glasses if glass.code == code] == [3]
    assert {glass.n_lines for glass in seat_now.glasses} == {7}


def test_nothing_is_judged_before_the_reveal_and_then_all_of_it(house: Store) -> None:
    plan = trace_plan()
    opened(house, plan)
    trace_all(house, plan, bursts("D1"))
    with house.read() as db, pytest.raises(WrongState, match="its key tells"):
        session_answer(db, NAME)
    revealed(house, plan)
    with house.read() as db:
        found = session_answer(db, NAME)
    document = found.to_dict()
    assert [one["verdict"] for one in document["samples"]] == ["bursts", "lingers"]
    assert [one["verdict"] for one in document["pairs"]] == ["differ in course"]
    assert document["n_people"] == len(plan.assessors)
    assert "given" not in document
    lines = SESSION_LINES[plan.kind](found, Part())
    assert lines[0].startswith("DIFFER IN COURSE. ")
    assert all(len(line) <= 80 for line in lines)
