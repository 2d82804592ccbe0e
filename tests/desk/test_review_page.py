"""What the warehouse asks for at the desk, and a remark on a bottle from there."""

from __future__ import annotations

import pytest

from panel.desk.app import DeskApp
from panel.desk.fold_page import FoldPage
from panel.desk.lot_page import LotPage
from panel.desk.remarks_page import RemarkForm, RemarksPage
from panel.desk.review_page import ReviewPage
from panel.kinds import ReleaseStatus
from panel.questions.review.matters import Reason
from panel.store.engine import Store
from panel.store.releases import Release
from panel.store.review_ticks import ReviewTick
from tests.conftest import FIXED_NOW
from tests.desk.driving import press, seen, settle


def reasons(desk: DeskApp) -> list[Reason]:
    assert isinstance(desk.screen, ReviewPage)
    return [row.line.reason for row in desk.screen.list.rows]


async def test_what_leaks_stands_first_and_is_gone_once_it_was_seen_to(
    desk: DeskApp, house: Store
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "v")
        assert reasons(desk)[0] is Reason.LEAKS
        assert "Repair or re-rack it" in "\n".join(seen(desk))
        await press(pilot, "k", *"hoops", "ctrl+s")
        assert Reason.LEAKS not in reasons(desk)
    with house.read() as db:
        assert [tick.note for tick in db.query(ReviewTick)] == ["hoops"]


@pytest.mark.slow
async def test_the_review_is_narrowed_and_folds_lead_back_to_the_list(desk: DeskApp) -> None:
    async with desk.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "v", "f", "down", *"nowhere", "ctrl+s")
        assert "'nowhere'" in "\n".join(seen(desk))
        await press(pilot, "escape", "full_stop", *"casks told", "enter")
        assert isinstance(desk.screen, FoldPage)
        await press(pilot, "v")
        assert "Casks by warehouse" in "\n".join(seen(desk))


@pytest.mark.slow
async def test_a_remark_leads_back_to_the_casks(desk: DeskApp, house: Store) -> None:
    with house.write() as db:
        db.add(
            Release(
                name="Spring",
                status=ReleaseStatus.BOTTLED,
                planned_on=FIXED_NOW.date(),
                proposed_by="LD",
                signed_by="BL",
                disgorged_on=FIXED_NOW.date(),
                bottled_on=FIXED_NOW.date(),
                lot_code="L1-1",
            )
        )
    async with desk.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "6", "full_stop", *"remarks on", "enter")
        assert isinstance(desk.screen, RemarksPage)
        await press(pilot, "n")
        assert isinstance(desk.screen, RemarkForm)
        await press(pilot, *"L9", "down", "down", "down", *"cork", "ctrl+s")
        assert "No lot has that code" in "\n".join(seen(desk))
        await press(pilot, "up", "up", "up", "ctrl+u", *"L1-1", "ctrl+s")
        assert isinstance(desk.screen, RemarksPage)
        await press(pilot, "enter")
        assert isinstance(desk.screen, LotPage)
        assert "remark 1 of" in "\n".join(seen(desk))
