"""Sessions in sets on the desk: what was found has a page, and a plan says what it can tell."""

from __future__ import annotations

from datetime import date

from panel.desk.app import DeskApp
from panel.desk.plan_entry import read_plan, values_of
from panel.desk.sets_page import SetsPage
from panel.kinds import SessionKind
from panel.session.drafts import planned_again
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle
from tests.houses.at_the_desk import ASSESSORS
from tests.houses.held_at_the_desk import NOW
from tests.houses.in_sets import answer_all, opened, picks, revealed, set_plan

PLAN = set_plan(
    SessionKind.STRONGER,
    assessors=ASSESSORS,
    descriptors=("bonfire",),
    held_on=date(2026, 3, 14),
    replicates=4,
    alike_within=1.0,
    stronger="D1",
)


async def test_what_was_found_of_two_products_has_a_page(house: Store, desk: DeskApp) -> None:
    opened(house, PLAN, NOW)
    answer_all(house, PLAN, picks("D1"), NOW)
    revealed(house, PLAN, NOW)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i")
        assert isinstance(desk.screen, SetsPage)
        text = " ".join(" ".join(seen(desk)).split())
        assert "Found in pairs" in text
        assert "DIFFERENT. D1 and D2 are different on bonfire, and D1 has more of it" in text
        assert "d-prime" in text


def test_the_form_holds_which_draw_is_always_the_reference(house: Store) -> None:
    plan = set_plan(
        SessionKind.LIKE_THE_FIRST,
        assessors=ASSESSORS,
        held_on=date(2026, 3, 14),
        reference="D2",
    )
    opened(house, plan, NOW)
    with house.read() as db:
        read, faults = read_plan(values_of(planned_again(db, plan.name)))
    assert faults == {}
    assert read is not None
    assert (read.kind, read.reference, read.draws) == (plan.kind, "D2", ("D1", "D2"))


def test_the_form_holds_all_of_such_a_plan(house: Store) -> None:
    opened(house, PLAN, NOW)
    with house.read() as db:
        drafted = planned_again(db, PLAN.name)
    read, faults = read_plan(values_of(drafted))
    assert faults == {}
    assert read is not None
    assert (read.kind, read.alike_within, read.stronger) == (PLAN.kind, 1.0, "D1")
    assert (read.replicates, read.descriptors) == (4, ("bonfire",))
