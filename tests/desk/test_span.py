"""Several sessions together on the desk, and the chart of the hidden reference."""

from __future__ import annotations

import pytest

from analysis.agreement import AssessorWord, PanelWord
from analysis.pictures import Picture
from analysis.pictures.moving import PANEL
from panel.desk.agreement_field import AgreementField, signs_of_span
from panel.desk.agreement_page import AgreementPage
from panel.desk.agreement_signs import DOWNWARD, UPWARD, sign_of_panel, sign_of_person
from panel.desk.app import DeskApp
from panel.desk.assessor_page import AssessorPage
from panel.desk.drift_page import DriftPage
from panel.desk.pick import PickPage
from panel.desk.picture_page import PicturePage
from panel.desk.pin_slip import PinSlip
from panel.desk.slip import ReadSlip
from panel.desk.span_page import SpanPage
from panel.questions.agreement import session_agreement, span_agreement
from panel.session.stages import close_session, reveal_session
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle
from tests.desk.kept_pictures import SMALL, check_pictures
from tests.houses.held_at_the_desk import NOW, hold, score_all

NAMES = tuple(f"evening {number}" for number in range(1, 11))


def hold_ten(store: Store) -> None:
    for seed, name in enumerate(NAMES):
        hold(store, "open", name)
        score_all(store, name, seed=seed)
        for step in (close_session, reveal_session):
            with store.write() as db:
                step(db, name, now=NOW, by="LD")


async def test_sessions_are_chosen_and_judged_together(house: Store, desk: DeskApp) -> None:
    hold_ten(house)
    with house.read() as db:
        expected = span_agreement(db, NAMES)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "b")
        pick = desk.screen
        assert isinstance(pick, PickPage)
        assert len(pick.made.ticked) == 5
        await press(pilot, "t", "enter")
        page = desk.screen
        assert isinstance(page, SpanPage)
        assert page.result is not None
        assert page.result.sentence == expected.sentence
        assert page.query_one(AgreementField).signs == signs_of_span(page.result)
        await press(pilot, "f6")
        drawn = desk.screen
        assert isinstance(drawn, PicturePage)
        [picture] = drawn.pictures
        assert isinstance(picture, Picture)
        people = [person.assessor for person in expected.assessors]
        assert [row.name for row in picture.rows] == [PANEL, *people]
        await press(pilot, "escape", "v")
        assert isinstance(desk.screen, ReadSlip)
        await press(pilot, "escape", "down", "enter")
        chart = desk.screen
        assert isinstance(chart, DriftPage)
        assert len(chart.drift.points) == 10
        rows = [chart.draw(point, 76) for point in chart.drift.points]
        assert all("●" in row or "×" in row for row in rows)
        await press(pilot, "escape")
        assert page.is_current
        await press(pilot, "5", "enter", "f6")
        assert own_row(desk) == ["AB"]
        await press(pilot, "escape")
        desk.signed_in = False
        await press(pilot, "f6")
        assert isinstance(desk.screen, PinSlip)  # it speaks of one person


@pytest.mark.slow
async def test_ones_own_row_stands_behind_ones_page_of_a_session(
    house: Store, desk: DeskApp
) -> None:
    hold_ten(house)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i", "home", "right", "enter")
        assert isinstance(desk.screen, AssessorPage)
        whose = desk.screen.whose
        await press(pilot, "f6")
        assert own_row(desk) == [whose]


def own_row(desk: DeskApp) -> list[str]:
    """The people who are drawn, beside the panel itself."""
    drawn = desk.screen
    assert isinstance(drawn, PicturePage)
    [picture] = drawn.pictures
    assert isinstance(picture, Picture)
    return [row.name for row in picture.rows if row.name != PANEL]


@pytest.mark.slow
async def test_too_few_references_are_told_in_words(house: Store, desk: DeskApp) -> None:
    hold_ten(house)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "b", "enter", "down", "right", "enter")
        assert isinstance(desk.screen, SpanPage)
        assert "10 are needed" in " ".join("\n".join(seen(desk)).split())


@pytest.mark.slow
async def test_an_evening_shows_what_the_sessions_to_date_say(house: Store, desk: DeskApp) -> None:
    hold_ten(house)
    with house.read() as db:
        expected = session_agreement(db, NAMES[-1])
    note = expected.descriptors[0]
    assert note.over_sessions_sentence is not None
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(AgreementPage(NAMES[-1]))
        await settle(pilot)
        await press(pilot, "down")
        assert note.over_sessions_sentence in " ".join("\n".join(seen(desk)).split())
        await press(pilot, "v", "home")
        assert note.over_sessions_sentence in " ".join("\n".join(seen(desk)).split())


async def test_nothing_closed_nothing_to_choose(house: Store, desk: DeskApp) -> None:
    hold(house, "open")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "b")
        assert "No session is closed yet." in "\n".join(seen(desk))


def test_somebody_who_moves_bears_an_arrow() -> None:
    assert sign_of_person(AssessorWord.MOVING_UP) == UPWARD
    assert sign_of_person(AssessorWord.MOVING_DOWN) == DOWNWARD
    assert sign_of_panel(AssessorWord.MOVING_UP) == UPWARD
    assert sign_of_panel(PanelWord.SAFE) == "safe"


SHOWN: dict[str, tuple[str, ...]] = {
    "span": ("b", "t", "enter", "down", "right"),
    "drift": ("b", "t", "enter", "down", "enter"),
}


@pytest.mark.slow
@pytest.mark.parametrize("name", SHOWN)
async def test_screen_looks_as_it_was_kept(house: Store, desk: DeskApp, name: str) -> None:
    hold_ten(house)
    async with desk.run_test(size=SMALL) as pilot:
        await settle(pilot)
        await press(pilot, *SHOWN[name])
        await check_pictures(pilot, name)
