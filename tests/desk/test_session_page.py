from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import select
from textual.pilot import Pilot
from textual.widgets import Static

from panel.desk.app import DeskApp
from panel.desk.glass_field import GlassField
from panel.desk.mark_form import MARKS, NOT_SAFE, MarkForm
from panel.desk.session_page import SessionPage
from panel.desk.sessions import SessionsPage
from panel.desk.slip import Confirm, ReadSlip
from panel.kinds import CallReason, Fault, ServingStatus, SessionStatus
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.log import LogEntry
from panel.store.sessions import (
    FaultMark,
    LeadCall,
    PanelSession,
    Serving,
    ServingMark,
)
from tests.desk.driving import press, seen, settle
from tests.houses.held_at_the_desk import NAME, NOW, hold


def stage_of(store: Store) -> SessionStatus:
    with store.read() as db:
        return db.scalars(select(PanelSession.status)).one()


async def go_in(desk: DeskApp, pilot: Pilot[None]) -> SessionPage:
    await settle(pilot)
    await press(pilot, "enter")
    page = desk.screen
    assert isinstance(page, SessionPage)
    return page


@pytest.mark.parametrize(
    ("before", "key", "after"),
    [
        ("draft", "s", SessionStatus.SEALED),
        ("sealed", "o", SessionStatus.OPEN),
        ("open", "c", SessionStatus.CLOSED),
        ("closed", "r", SessionStatus.REVEALED),
    ],
)
async def test_a_step_is_taken_on_a_yes_only(
    house: Store, desk: DeskApp, before: str, key: str, after: SessionStatus
) -> None:
    hold(house, before)
    async with desk.run_test(size=(80, 24)) as pilot:
        await go_in(desk, pilot)
        await press(pilot, key)
        assert isinstance(desk.screen, Confirm)
        await press(pilot, "enter")
        assert isinstance(desk.screen, Confirm), "Enter alone never agrees"
        await press(pilot, "escape")
        assert stage_of(house).value == before
        await press(pilot, key, "y")
        assert stage_of(house) is after


async def test_only_steps_of_the_stage_are_offered(house: Store, desk: DeskApp) -> None:
    hold(house, "sealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        page = await go_in(desk, pilot)
        actions = {active.binding.action for active in page.active_bindings.values()}
        assert {"open", "sheets", "mark"} <= actions
        assert not {"seal", "close", "reveal", "agreement"} & actions


async def test_sealing_shows_the_hash_to_write_down(house: Store, desk: DeskApp) -> None:
    hold(house, "draft")
    async with desk.run_test(size=(80, 24)) as pilot:
        await go_in(desk, pilot)
        await press(pilot, "s", "y")
        assert isinstance(desk.screen, ReadSlip)
        with house.read() as db:
            key_hash = db.scalars(select(PanelSession.key_hash)).one()
        assert key_hash is not None
        assert key_hash in desk.screen.text


async def test_before_the_reveal_no_draw_stands_beside_a_code(house: Store, desk: DeskApp) -> None:
    hold(house, "open")
    async with desk.run_test(size=(120, 40)) as pilot:
        page = await go_in(desk, pilot)
        assert page.told is not None
        assert page.told.key == ()
        assert "key" not in page.told.views
        text = "\n".join(seen(desk))
        assert not [label for label in ("D1", "D2", "House reference") if label in text]


async def test_after_the_reveal_the_key_is_shown(house: Store, desk: DeskApp) -> None:
    hold(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        page = await go_in(desk, pilot)
        with house.read() as db:
            codes = set(db.scalars(select(KeyRow.code)))
        assert page.told is not None
        assert {row.code for row in page.told.key} == codes
        assert "House reference" in "\n".join(seen(desk))


@pytest.mark.slow
async def test_a_glass_is_marked_and_the_field_shows_it(house: Store, desk: DeskApp) -> None:
    hold(house, "open")
    async with desk.run_test(size=(80, 24)) as pilot:
        page = await go_in(desk, pilot)
        await press(pilot, "down", "right")
        chosen = page.query_one(GlassField).chosen
        assert chosen is not None
        seat, glass = chosen
        await press(pilot, "m")
        assert isinstance(desk.screen, MarkForm)
        await press(pilot, "right", "ctrl+s")
        with house.read() as db:
            marked = db.scalars(select(Serving).where(Serving.status == ServingStatus.VOID)).one()
            assert (marked.code, marked.person.code) == (glass.code, seat.assessor)
        assert f"×{glass.code}" in "\n".join(seen(desk))


async def test_what_is_not_safe_goes_from_every_tray(house: Store, desk: DeskApp) -> None:
    hold(house, "open")
    async with desk.run_test(size=(80, 24)) as pilot:
        await go_in(desk, pilot)
        await press(pilot, "down", "right", "m", *["right"] * MARKS.index(NOT_SAFE), "ctrl+s")
        with house.read() as db:
            void = select(Serving).where(Serving.status == ServingStatus.VOID)
            assert len({glass.person.code for glass in db.scalars(void)}) > 1
        assert "Not safe: " in "\n".join(seen(desk))


async def test_after_the_reveal_a_glass_is_marked_with_a_reason_only(
    house: Store, desk: DeskApp
) -> None:
    hold(house, "revealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await go_in(desk, pilot)
        await press(pilot, "v", "down", "right", "m")
        assert isinstance(desk.screen, MarkForm)
        await press(pilot, "ctrl+s")
        assert "say why" in "\n".join(seen(desk))
        await press(pilot, *"drunk", "ctrl+s")
        with house.read() as db:
            mark = db.scalars(select(ServingMark)).one()
            assert (mark.status, mark.note) == (ServingStatus.VOID, "drunk")


@pytest.mark.slow
async def test_a_suspected_swap_is_cleared_on_the_desk(house: Store, desk: DeskApp) -> None:
    hold(house, "open")
    async with desk.run_test(size=(80, 24)) as pilot:
        page = await go_in(desk, pilot)
        await press(pilot, "down", "right")
        chosen = page.query_one(GlassField).chosen
        assert chosen is not None
        one, other = (glass.code for glass in chosen[0].glasses[1:3])
        await press(pilot, "m", "right", "right", "ctrl+s")
        await press(pilot, "m", "right", "ctrl+s")
        assert "name the other glass" in "\n".join(seen(desk))
        others = [glass.code for glass in chosen[0].glasses if glass.code != one]
        await press(pilot, "enter", *["down"] * others.index(other), "enter", "ctrl+s")
        with house.read() as db:
            told = select(Serving.code, Serving.read_as).where(Serving.read_as.is_not(None))
            read = {code: read_as for code, read_as in db.execute(told)}
        assert read == {one: other, other: one}
        assert f"read as {other}" in "\n".join(seen(desk))


@pytest.mark.slow
async def test_a_draft_is_dropped_on_a_yes_only(house: Store, desk: DeskApp) -> None:
    hold(house, "draft")
    async with desk.run_test(size=(80, 24)) as pilot:
        await go_in(desk, pilot)
        await press(pilot, "minus", "enter", "n")
        assert stage_of(house) is SessionStatus.DRAFT
        await press(pilot, "minus", "y")
        assert isinstance(desk.screen, SessionsPage)
        assert "is dropped" in "\n".join(seen(desk))
    with house.read() as db:
        assert db.scalars(select(PanelSession)).all() == []
        entry = db.scalars(select(LogEntry).order_by(LogEntry.id.desc())).first()
        assert entry is not None
        assert '"draft dropped"' in (entry.body_json or "")


@pytest.mark.slow
async def test_a_call_is_answered_by_one_key(house: Store, desk: DeskApp) -> None:
    hold(house, "open")
    with house.write() as db:
        glass = db.scalars(select(Serving)).first()
        assert glass is not None
        db.add(
            LeadCall(
                session_id=glass.session_id,
                person_id=glass.person_id,
                serving_id=glass.id,
                reason=CallReason.SPILLED,
                called_at=NOW,
            )
        )
    async with desk.run_test(size=(80, 24)) as pilot:
        await go_in(desk, pilot)
        assert "CALL 18:00" in "\n".join(seen(desk))
        await press(pilot, "a")
        with house.read() as db:
            assert db.scalars(select(LeadCall.answered_at)).one() == NOW
        assert "CALL 18:00" not in "\n".join(seen(desk))


@pytest.mark.slow
async def test_fault_marks_stand_by_code(house: Store, desk: DeskApp) -> None:
    hold(house, "open")
    with house.write() as db:
        glass = db.scalars(select(Serving).order_by(Serving.id)).first()
        assert glass is not None
        code = glass.code
        fault = FaultMark(serving_id=glass.id, fault=Fault.MOULD_OR_CORK, marked_at=NOW)
        db.add(fault)
    async with desk.run_test(size=(80, 24)) as pilot:
        await go_in(desk, pilot)
        text = "\n".join(seen(desk))
        assert f"Marked: {code} mould or cork (1)" in text
        assert f"!{code}" in text


@pytest.mark.slow
async def test_what_a_booth_saves_comes_in_by_itself(house: Store, desk: DeskApp) -> None:
    hold(house, "open")
    async with desk.run_test(size=(80, 24)) as pilot:
        await go_in(desk, pilot)
        with house.write() as db:
            for glass in db.scalars(select(Serving)):
                glass.taken_order, glass.taken_at, glass.finished_at = 1, NOW, NOW
        desk.look()
        await settle(pilot)
        text = "\n".join(seen(desk))
        assert "24 of 24 glasses done" in text or "28 of 28 glasses done" in text


async def test_paper_that_tells_no_key_costs_nobody_their_blindness(
    house: Store, desk: DeskApp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    hold(house, "sealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await go_in(desk, pilot)
        await pilot.app.run_action("screen.paper")
        await settle(pilot)
        assert isinstance(desk.screen, ReadSlip)
    written = sorted(path.name for path in tmp_path.glob("Thursday-12-*"))
    kinds = ("ballots.txt", "draw-list.txt", "labels.html", "mats.html", "tray-labels.txt")
    assert written == [f"Thursday-12-{kind}" for kind in kinds]
    with house.read() as db:
        assert not [
            body for body in db.scalars(select(LogEntry.body_json)) if "pour sheet" in str(body)
        ]


async def test_sheets_go_to_new_private_files(
    house: Store, desk: DeskApp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    hold(house, "sealed")
    folder = tmp_path / "sheets"
    folder.mkdir()
    monkeypatch.chdir(folder)
    (folder / "Thursday-12-pour-sheet.txt").write_text("an older one")
    async with desk.run_test(size=(80, 24)) as pilot:
        await go_in(desk, pilot)
        await press(pilot, "p", "y", *"2846", "enter", *"2846", "enter")
    written = sorted(path.name for path in folder.iterdir())
    assert written == [
        "Thursday-12-ballots.txt",
        "Thursday-12-bottle-sheet.txt",
        "Thursday-12-day-sheet.txt",
        "Thursday-12-draw-list.txt",
        "Thursday-12-labels.html",
        "Thursday-12-mats.html",
        "Thursday-12-pour-sheet-2.txt",
        "Thursday-12-pour-sheet.txt",
        "Thursday-12-tray-labels.txt",
    ]
    assert (folder / "Thursday-12-pour-sheet.txt").read_text() == "an older one"
    sheet = folder / "Thursday-12-pour-sheet-2.txt"
    assert sheet.stat().st_mode & 0o777 == 0o600
    assert "D1" in sheet.read_text()


@pytest.mark.slow
async def test_a_refused_step_is_told_in_words(house: Store, desk: DeskApp) -> None:
    hold(house, "sealed")
    async with desk.run_test(size=(80, 24)) as pilot:
        page = await go_in(desk, pilot)
        desk.by = "AB"
        await press(pilot, "o", "y")
        assert "AB does not have the role 'lead'" in "\n".join(seen(desk))
        assert stage_of(house) is SessionStatus.SEALED
        assert desk.screen is page


@pytest.mark.slow
async def test_a_closed_session_opens_again_with_a_reason_only(house: Store, desk: DeskApp) -> None:
    hold(house, "closed")
    async with desk.run_test(size=(80, 24)) as pilot:
        await go_in(desk, pilot)
        await press(pilot, "u", "ctrl+s")
        assert stage_of(house) is SessionStatus.CLOSED
        await press(pilot, *"late", "ctrl+s")
        assert stage_of(house) is SessionStatus.OPEN


@pytest.mark.slow
async def test_the_hash_stands_on_the_page(house: Store, desk: DeskApp) -> None:
    hold(house, "sealed", NAME)
    async with desk.run_test(size=(80, 24)) as pilot:
        page = await go_in(desk, pilot)
        with house.read() as db:
            key_hash = db.scalars(select(PanelSession.key_hash)).one()
        assert str(key_hash) in str(page.query_one("#told", Static).content)
