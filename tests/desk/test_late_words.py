"""What came after a session was opened again is read whole at 80x24, on the pages that judge."""

from __future__ import annotations

import pytest

from panel.desk.agreement_page import AgreementPage
from panel.desk.app import DeskApp
from panel.desk.late_words import LateWords
from panel.desk.slip import ReadSlip
from panel.desk.span_page import SpanPage
from panel.session.reopened import AfterReopening
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle
from tests.desk.test_answers import hold_with_scores
from tests.houses.held_at_the_desk import NAME, NOW

FOURTEEN = tuple(f"A{n}" for n in range(10, 24))
LATE = AfterReopening(NOW, 1234, 123, FOURTEEN, n_marked=12, n_faults=12, n_faults_off=12)


@pytest.mark.parametrize("kind", [AgreementPage, SpanPage])
async def test_of_one_session_every_word_is_seen(
    house: Store, desk: DeskApp, kind: type[AgreementPage] | type[SpanPage]
) -> None:
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        page = AgreementPage(NAME) if kind is AgreementPage else SpanPage([NAME])
        await desk.push_screen(page)
        await settle(pilot)
        page.query_one(LateWords).tell([LATE.words()])
        await settle(pilot)
        assert LATE.words() in " ".join(" ".join(seen(desk)).split())


async def test_of_several_sessions_their_names_are_seen_and_the_words_at_a_key(
    house: Store, desk: DeskApp
) -> None:
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        page = SpanPage([NAME])
        await desk.push_screen(page)
        await settle(pilot)
        assert page.result is not None
        names = [f"evening of week {n}" for n in range(9)]
        late = {"never": None, **dict.fromkeys(names, LATE)}
        page.post_message(SpanPage.Read(page.result, late))
        await settle(pilot)
        told = (
            "Closed and opened again, and by then their scores could be read: "
            f"{', '.join(names[:6])} and 3 more."
        )
        assert told in " ".join(" ".join(seen(desk)).split())
        await press(pilot, "v")
        assert isinstance(desk.screen, ReadSlip)
        said = " ".join(desk.screen.text.split())
        assert all(f"{name}: {LATE.words()}" in said for name in names)
