"""A traced session on the desk: what was found has a page and a picture, and its plan a form."""

from __future__ import annotations

from datetime import date

from panel.desk.app import DeskApp
from panel.desk.picture_page import PicturePage
from panel.desk.plan_entry import read_plan, values_of
from panel.desk.traces_page import TracesPage
from panel.session.drafts import planned_again
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle
from tests.houses.at_the_desk import ASSESSORS
from tests.houses.held_at_the_desk import NOW
from tests.houses.in_sets import opened, revealed
from tests.houses.traced import bursts, trace_all, trace_plan

PLAN = trace_plan(assessors=ASSESSORS, descriptors=("bonfire",), held_on=date(2026, 3, 14))


async def test_a_trace_has_a_page_and_a_picture_and_fills_the_form_again(
    house: Store, desk: DeskApp
) -> None:
    opened(house, PLAN, NOW)
    trace_all(house, PLAN, bursts("D1"), NOW)
    revealed(house, PLAN, NOW)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i")
        assert isinstance(desk.screen, TracesPage)
        text = " ".join(" ".join(seen(desk)).split())
        assert "Found in minute" in text
        assert "DIFFER IN COURSE. Bonfire takes another course in D2 than in D1" in text
        await press(pilot, "f6")
        assert isinstance(desk.screen, PicturePage)
        assert "Does bonfire burst or linger in D1?" in " ".join(seen(desk))
    with house.read() as db:
        read, faults = read_plan(values_of(planned_again(db, PLAN.name)))
    assert faults == {}
    assert read is not None
    assert (read.kind, read.pour_ml, read.manner.value) == (PLAN.kind, 10.0, "taste")
