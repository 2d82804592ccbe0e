"""Agreement and targets on the desk: the same results as on the command line, or a reason."""

from __future__ import annotations

from datetime import date

import pytest

from panel.desk.agreement_page import AgreementPage
from panel.desk.app import DeskApp
from panel.desk.assessor_page import AssessorPage
from panel.desk.cask_page import CaskPage
from panel.desk.found_page import FoundPage
from panel.desk.late_words import LateWords
from panel.desk.side_by_side import SideBySidePage
from panel.desk.slip import ReadSlip
from panel.desk.span_page import SpanPage
from panel.desk.target_lines import TargetLinesPage
from panel.desk.target_page import TargetPage
from panel.questions.agreement import session_agreement
from panel.questions.matching import target_match
from panel.session.reopened import reopened_lines
from panel.session.stages import close_session, reopen_session
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle
from tests.houses.at_the_desk import ASSESSORS, DESCRIPTORS, NASTY
from tests.houses.held_at_the_desk import NAME, NOW, hold, score_all


def hold_with_scores(store: Store, stage: str) -> None:
    hold(store, "open")
    score_all(store)
    from panel.session.stages import reveal_session

    with store.write() as db:
        close_session(db, NAME, now=NOW, by="LD")
    if stage == "revealed":
        with store.write() as db:
            reveal_session(db, NAME, now=NOW, by="LD")


async def test_a_reopening_is_told_on_the_pages_that_judge(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "closed")
    with house.write() as db:
        reopen_session(db, NAME, now=NOW, by="LD", reason="late")
    with house.write() as db:
        close_session(db, NAME, now=NOW, by="LD")
    with house.read() as db:
        [told] = reopened_lines(db, [NAME])
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        for page in (AgreementPage(NAME), SpanPage([NAME])):
            await desk.push_screen(page)
            await settle(pilot)
            assert str(page.query_one(LateWords).content) == told
            assert page.query_one(LateWords).display
            await press(pilot, "v")
            if isinstance(desk.screen, ReadSlip):
                assert told[:40] in desk.screen.text
                await press(pilot, "escape")
            else:
                assert told[:40] in "\n".join(seen(desk))
            await press(pilot, "escape")


async def test_agreement_is_refused_in_words_while_a_session_is_open(
    house: Store, desk: DeskApp
) -> None:
    hold(house, "open")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i")
        page = desk.screen
        assert isinstance(page, AgreementPage)
        assert page.result is None
        assert "once it is closed" in "\n".join(seen(desk))


@pytest.mark.slow
async def test_agreement_is_what_the_command_says(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "revealed")
    with house.read() as db:
        expected = session_agreement(db, NAME)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i")
        page = desk.screen
        assert isinstance(page, AgreementPage)
        assert page.result == expected
        text = "\n".join(seen(desk))
        assert expected.verdict.label.upper() in text
        assert NASTY in text
        await press(pilot, "v", "home", "enter")
        assert isinstance(desk.screen, SideBySidePage)
        await press(pilot, "escape", "end", "enter")
        assert isinstance(desk.screen, AssessorPage)
        assert desk.screen.person.assessor == max(ASSESSORS)
        assert {note.descriptor for note in desk.screen.person.notes} == set(DESCRIPTORS)


async def test_before_the_reveal_agreement_shows_codes_only(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "closed")
    async with desk.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "i", "down", "enter")
        assert isinstance(desk.screen, SideBySidePage)
        side = "\n".join(seen(desk))
        await press(pilot, "w")
        slip = desk.screen
        assert isinstance(slip, ReadSlip)
        for label in ("D1", "D2", "House reference"):
            assert label not in slip.text
            assert label not in side


@pytest.mark.slow
async def test_casks_that_suit_are_what_the_command_says(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "revealed")
    with house.read() as db:
        expected = target_match(db, "Spring vatting", as_of=date(2026, 3, 14))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "3", "enter")
        page = desk.screen
        assert isinstance(page, TargetPage)
        assert page.match == expected
        assert expected.casks[0].cask in "\n".join(seen(desk))
        await press(pilot, "l")
        assert isinstance(desk.screen, TargetLinesPage)
        assert NASTY in "\n".join(seen(desk))
        await press(pilot, "escape", "i")
        found = desk.screen
        assert isinstance(found, FoundPage)
        assert found.number == expected.casks[0].cask
        assert found.beside is not None
        assert found.beside.name == "Spring vatting"
        await press(pilot, "escape", "home", "enter")
        assert isinstance(desk.screen, CaskPage)
        assert desk.screen.number == expected.casks[0].cask


@pytest.mark.slow
async def test_a_target_that_nothing_was_nosed_for_says_so(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "3", "enter")
        page = desk.screen
        assert isinstance(page, TargetPage)
        assert page.match is None
        said = "\n".join(seen(desk))
        assert "! " in said
        assert "Traceback" not in said


async def test_a_fault_of_ours_is_told_without_a_traceback(
    house: Store, desk: DeskApp, monkeypatch: object
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        page = desk.screen
        await press(pilot, "2")
        with house.write() as db:
            db.connection().exec_driver_sql("ALTER TABLE make RENAME COLUMN phenol_ppm TO gone")
        await press(pilot, "f5")
        said = "\n".join(seen(desk))
        assert "! " in said
        assert "Traceback" not in said
        assert desk.is_running
        assert page is not desk.screen
