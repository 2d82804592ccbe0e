"""A session with stages on the desk: what was found, its picture, its agreement, its form again."""

from __future__ import annotations

from datetime import date

from panel.desk.agreement_page import AgreementPage
from panel.desk.app import DeskApp
from panel.desk.picture_page import PicturePage
from panel.desk.plan_entry import read_plan, values_of
from panel.desk.stages_page import StagesPage
from panel.session.drafts import planned_again
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle
from tests.houses.at_the_desk import ASSESSORS
from tests.houses.held_at_the_desk import NOW
from tests.houses.in_sets import opened, revealed
from tests.houses.staged import NOTE, bursts_in, score_stages, stage_plan

PLAN = stage_plan(assessors=ASSESSORS, descriptors=("wet hay",), held_on=date(2026, 3, 14))


async def test_stages_have_a_page_a_picture_and_the_agreement_behind_it(
    house: Store, desk: DeskApp
) -> None:
    opened(house, PLAN, NOW)
    score_stages(house, PLAN, bursts_in("D1"), NOW)
    revealed(house, PLAN, NOW)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i")
        assert isinstance(desk.screen, StagesPage)
        text = " ".join(" ".join(seen(desk)).split())
        assert "In D1 bonfire bursts: with 5 points added to both, its finish has" in text
        await press(pilot, "f6")
        assert isinstance(desk.screen, PicturePage)
        assert "Where does bonfire lie?" in " ".join(seen(desk))
        await press(pilot, "escape", "i")
        assert isinstance(desk.screen, AgreementPage)
    with house.read() as db:
        read, faults = read_plan(values_of(planned_again(db, PLAN.name)))
    assert faults == {}
    assert read is not None
    assert (read.kind, read.stages, read.manner.value) == (PLAN.kind, (NOTE,), "taste")
