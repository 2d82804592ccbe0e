"""From the field down to one note, one person, and back up the same way."""

from __future__ import annotations

import pytest
from textual.widgets import Input, Static

from panel.desk.agreement_field import AgreementField
from panel.desk.agreement_page import AgreementPage
from panel.desk.agreement_signs import KEY, sign_of_note, sign_of_person
from panel.desk.app import DeskApp
from panel.desk.assessor_page import AssessorPage
from panel.desk.pin_slip import PinSlip
from panel.desk.side_by_side import NoseList, SideBySidePage
from panel.desk.slip import ReadSlip
from panel.desk.window import SayLine
from panel.questions.own_means import own_means
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.people import SignInGuard
from tests.desk.driving import press, seen, settle
from tests.desk.test_answers import hold_with_scores
from tests.desk.test_sign_in import PIN, give_pin
from tests.houses.at_the_desk import ASSESSORS, DESCRIPTORS
from tests.houses.held_at_the_desk import NAME


@pytest.mark.slow
async def test_enter_goes_down_and_escape_back_up(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i")
        page = desk.screen
        assert isinstance(page, AgreementPage)
        assert page.result is not None
        await press(pilot, "down", "right", "right", "enter")
        side = desk.screen
        assert isinstance(side, SideBySidePage)
        assert side.note.descriptor == page.result.descriptors[0].descriptor
        nose = side.query_one(NoseList).current
        assert nose is not None
        assert nose.name == ASSESSORS[1]
        await press(pilot, "enter")
        assert isinstance(desk.screen, AssessorPage)
        assert desk.screen.person.assessor == ASSESSORS[1]
        await press(pilot, "escape")
        assert side.is_current
        await press(pilot, "escape")
        assert page.is_current
        field = page.query_one(AgreementField)
        assert (field.row, field.column) == (1, 2)


@pytest.mark.slow
async def test_two_casks_are_held_against_each_other(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i")
        page = desk.screen
        assert isinstance(page, AgreementPage)
        assert len(page.casks) > 2
        await press(pilot, "b", "space", "enter")
        assert page.is_current
        assert "Tick two casks" in page.query_one(SayLine).said
        await press(pilot, "b", "space", "space", "enter")
        await settle(pilot)
        slip = desk.screen
        assert isinstance(slip, ReadSlip)
        assert f"{page.casks[0]} and {page.casks[1]}" in slip.text
        assert "at most" in slip.text


async def test_before_the_reveal_no_two_casks(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "closed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i")
        page = desk.screen
        assert isinstance(page, AgreementPage)
        assert page.casks == ()
        await press(pilot, "b")
        assert page.is_current


@pytest.mark.slow
async def test_every_cell_has_its_sentence(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i")
        page = desk.screen
        assert isinstance(page, AgreementPage)
        assert page.result is not None

        def told() -> str:
            return str(page.query_one("#sentence", Static).content)

        assert page.result.verdict.next_action in told()
        await press(pilot, "down")
        assert told() == page.result.descriptors[0].verdict.sentence
        await press(pilot, "right")
        assert told().startswith(f"{ASSESSORS[0]} on {page.result.descriptors[0].descriptor}: ")
        await press(pilot, "home")
        assert told() == page.result.assessors[0].verdict.sentence
        assert all(line in "\n".join(seen(desk)) for line in KEY)


@pytest.mark.slow
async def test_from_all_notes_enter_goes_to_the_person(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i", "right", "right", "right", "enter")
        assert isinstance(desk.screen, AssessorPage)
        assert desk.screen.person.assessor == ASSESSORS[2]


@pytest.mark.slow
async def test_side_by_side_shows_everybodys_own_means(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "revealed")
    with house.read() as db:
        means = own_means(db, NAME)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i", "down", "enter")
        side = desk.screen
        assert isinstance(side, SideBySidePage)
        shown = {nose.name: nose.values for nose in side.lines[1:]}
        assert shown == means[side.note.descriptor]
        whole = side.line(76)
        assert (whole.low, whole.high) == (0, 100)
        await press(pilot, "z")
        near = side.line(76)
        assert near.high - near.low < 100
        await press(pilot, "right", "left", "left")
        assert side.note.descriptor == side.result.descriptors[-1].descriptor


def test_means_are_those_of_the_scores(house: Store) -> None:
    hold_with_scores(house, "revealed")
    with house.read() as db:
        from panel.frames import scores_frame

        frame = scores_frame(db, sessions=[NAME])
        means = own_means(db, NAME)
    rows = frame[(frame["sample"] == "D2") & (frame["assessor"] == "CD")]
    rows = rows[rows["descriptor"] == DESCRIPTORS[0]]
    assert means[DESCRIPTORS[0]]["CD"]["D2"] == pytest.approx(rows["score"].mean())
    assert "House reference" not in means[DESCRIPTORS[0]]["CD"]


async def test_signs_differ_in_form_not_in_colour_alone(house: Store, desk: DeskApp) -> None:
    from panel.desk.agreement_signs import _panel_words, _signs

    assert len(set(_signs().values())) == len(_signs())
    assert len(set(_panel_words().values())) == len(_panel_words())
    assert sign_of_note(None) == " -"
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i")
        page = desk.screen
        assert isinstance(page, AgreementPage)
        assert page.result is not None
        for person in page.result.assessors:
            assert sign_of_person(person.verdict.word) in _signs().values()


@pytest.mark.slow
async def test_private_facts_open_with_the_leads_pin_only(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "revealed")
    give_pin(house, "LD")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *PIN, "enter")
        await press(pilot, "i", "right", "enter", "q")
        assert isinstance(desk.screen, PinSlip)
        await press(pilot, "enter")
        assert isinstance(desk.screen, PinSlip)
        await press(pilot, *"999999", "enter")
        assert isinstance(desk.screen, PinSlip)
        assert desk.screen.query_one("#pin", Input).value == ""
        with house.read() as db:
            assert db.query(SignInGuard).one().failures == 1
        await press(pilot, *PIN, "enter")
        assert isinstance(desk.screen, ReadSlip)
        assert "eyes only" in desk.screen.text
        with house.read() as db:
            newest = db.query(LogEntry).order_by(LogEntry.id.desc()).first()
            assert newest is not None
            assert "private facts shown" in str(newest.body_json)


async def test_without_a_pin_private_facts_stay_shut(house: Store, desk: DeskApp) -> None:
    hold_with_scores(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "i", "right", "enter", "q", *"1234", "enter")
        assert isinstance(desk.screen, PinSlip)
        assert "oakpanel people pin LD" in " ".join("\n".join(seen(desk)).split())
