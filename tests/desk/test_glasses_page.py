"""Every glass at the desk: by codes after the close, with what it was after the reveal."""

from __future__ import annotations

import pytest

from panel.desk.app import DeskApp
from panel.desk.glasses_page import CaskGlassesPage, SessionGlassesPage
from panel.desk.session_page import SessionPage
from panel.desk.slip import ReadSlip
from panel.session.stages import close_session, reveal_session
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.sessions import SessionAssessor
from tests.desk.driving import press, seen, settle
from tests.desk.kept_pictures import check_pictures
from tests.houses.held_at_the_desk import NAME, NOW, hold, score_all
from tests.houses.pins import PIN, give_pins


@pytest.fixture
def closed(house: Store) -> Store:
    hold(house, "open")
    score_all(house)
    with house.write() as db:
        close_session(db, NAME, now=NOW, by="LD")
    return house


def reveal(store: Store) -> None:
    with store.write() as db:
        reveal_session(db, NAME, now=NOW, by="LD")


@pytest.mark.slow
async def test_it_looks_as_it_was_kept(closed: Store, desk: DeskApp) -> None:
    reveal(closed)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "l")
        await check_pictures(pilot, "session-glasses")


async def test_before_the_reveal_there_are_codes_only(closed: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "l")
        assert isinstance(desk.screen, SessionGlassesPage)
        assert all(glass.draw is None for glass in desk.screen.list.rows)
        await press(pilot, "enter")
        assert isinstance(desk.screen, ReadSlip)
        assert "told after the reveal" in "\n".join(seen(desk))


async def test_while_it_is_open_there_is_no_way_to_the_scores(house: Store, desk: DeskApp) -> None:
    hold(house, "open")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "l")
        assert isinstance(desk.screen, SessionPage)


async def test_who_was_not_at_their_best_stands_behind_the_pin(
    closed: Store, desk: DeskApp
) -> None:
    with closed.write() as db:
        seat = db.query(SessionAssessor).first()
        assert seat is not None
        seat.not_at_best = True
        code = seat.person.code
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        give_pins(closed)
        await press(pilot, "enter")
        assert "best" not in "\n".join(seen(desk))
        await press(pilot, "l", "q")
        assert f"that day: {code}" not in "\n".join(seen(desk))
        await press(pilot, *PIN, "enter")
        assert f"that day: {code}" in "\n".join(seen(desk))
        await press(pilot, "escape", "escape", "q", *PIN, "enter")
        assert f"that day: {code}" in "\n".join(seen(desk))
    with closed.read() as db:
        assert any(NAME in (entry.body_json or "") for entry in db.query(LogEntry))


@pytest.mark.slow
async def test_a_cask_shows_its_glasses_over_the_years(closed: Store, desk: DeskApp) -> None:
    from panel.questions.glasses import cask_glasses

    reveal(closed)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "enter", "l")
        page = desk.screen
        assert isinstance(page, CaskGlassesPage)
        with closed.read() as db:
            found = cask_glasses(db, page.about, as_of=desk.today())
        assert list(page.list.rows) == list(found)


@pytest.mark.slow
async def test_notes_that_do_not_fit_stand_in_the_next_view(closed: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(64, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "l")
        page = desk.screen
        assert isinstance(page, SessionGlassesPage)
        looked_at = list(page.notes_shown)
        assert len(looked_at) < len(page.notes)
        while len(looked_at) < len(page.notes):
            await press(pilot, "v")
            looked_at += page.notes_shown
            assert "Remarks" in "\n".join(seen(desk))
        assert looked_at == list(page.notes)
        await press(pilot, "v")
        assert page.view == 0
