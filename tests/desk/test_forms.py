from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import select

from panel.desk.app import DeskApp
from panel.desk.cask_forms import EventForm, RegaugeForm
from panel.desk.cask_page import CaskPage
from panel.desk.casks import CasksPage
from panel.desk.form import FieldLine
from panel.desk.hold_form import HoldForm
from panel.desk.lexicon import LexiconPage
from panel.desk.target_lines import TargetForm, TargetLinesPage
from panel.desk.targets import TargetsPage
from panel.kinds import EventKind
from panel.store.casks import Filling, FillingEvent, Regauge
from panel.store.engine import Store
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.log import LogEntry
from panel.store.targets import StoredTarget
from tests.desk.driving import press, seen, settle
from tests.houses.at_the_desk import NASTY


def fault_beside(desk: DeskApp, name: str) -> str:
    line = next(line for line in desk.screen.query(FieldLine) if line.field.name == name)
    return str(line.query_one(".beside").render())


@pytest.mark.slow
async def test_a_regauge_is_kept_and_the_list_shows_it(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "g")
        assert isinstance(desk.screen, RegaugeForm)
        await press(pilot, *"2026-03-01", "enter", *"150.5", "enter", *"57.1", "ctrl+s")
        page = desk.screen
        assert isinstance(page, CasksPage)
        with house.read() as db:
            gauge = db.scalars(select(Regauge).where(Regauge.gauged_on == date(2026, 3, 1))).one()
            assert (gauge.bulk_l, gauge.abv, gauge.filling.label) == (150.5, 57.1, "SW1/1")
            entry = db.scalars(select(LogEntry).order_by(LogEntry.id.desc())).first()
            assert entry is not None
            assert '"by":"LD"' in str(entry.body_json)
        line = page.list.current
        assert line is not None
        assert line.state.bulk_l == 150.5
        assert "SW1/1 holds 150.5 L" in "\n".join(seen(desk))


@pytest.mark.slow
async def test_litres_read_at_the_cask_are_kept_as_those_of_20_degrees(
    house: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "g")
        keys = (*"2026-03-01", "enter", *"150", "enter", *"60", "enter", "enter", *"10", "enter")
        await press(pilot, *keys, "right", "ctrl+s")
        with house.read() as db:
            gauge = db.scalars(select(Regauge).where(Regauge.gauged_on == date(2026, 3, 1))).one()
            # 200 L of 60 % at 10 °C are 201.74 L at 20 °C (OIML R 22).
            assert gauge.bulk_l == pytest.approx(150.0 * 201.74 / 200.0, abs=0.01)
            assert gauge.temperature_c == 10.0


@pytest.mark.slow
async def test_faults_stand_beside_their_fields_and_nothing_is_written(
    house: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "g")
        await press(pilot, *"2027-01-01", "enter", *"lots", "enter", "ctrl+s")
        assert isinstance(desk.screen, RegaugeForm)
        assert fault_beside(desk, "gauged_on").startswith("!")
        assert fault_beside(desk, "bulk_l").startswith("!")
        assert fault_beside(desk, "abv").startswith("!")
        assert not fault_beside(desk, "note").startswith("!")
        text = "\n".join(seen(desk))
        assert "Nothing was written. 3 entries are not right." in text
        with house.read() as db:
            assert len(db.scalars(select(Regauge)).all()) == 1


@pytest.mark.slow
async def test_an_event_with_a_note_like_markup_is_kept(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "end", "e")
        form = desk.screen
        assert isinstance(form, EventForm)
        assert form.values()["filling"] == f"{NASTY}/1"
        kind, on = form.lines[1], form.lines[2]
        kind.entry.value, on.entry.value = "leak found", "2026-02-02"
        line = form.line_of("note")
        assert line is not None
        line.entry.value = NASTY
        await press(pilot, "ctrl+s")
        with house.read() as db:
            label = select(Filling.id).where(Filling.label == f"{NASTY}/1")
            event = db.scalars(
                select(FillingEvent).where(FillingEvent.filling_id == label.scalar_subquery())
            ).one()
            assert (event.kind, event.note) == (EventKind.LEAK_FOUND, NASTY)


@pytest.mark.slow
async def test_what_was_typed_is_thrown_away_at_the_second_escape_only(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "g", *"2026", "escape")
        assert isinstance(desk.screen, RegaugeForm)
        assert "Escape once more" in "\n".join(seen(desk))
        await press(pilot, "escape")
        assert isinstance(desk.screen, CasksPage)


@pytest.mark.slow
async def test_an_untouched_form_goes_at_once(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "e", "escape")
        assert isinstance(desk.screen, CasksPage)


@pytest.mark.slow
async def test_a_descriptor_is_written_versioned_and_retired(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "4", "n", *"river mud", "enter", "enter", *"none", "enter", *"deep")
        await press(pilot, "ctrl+s")
        page = desk.screen
        assert isinstance(page, LexiconPage)
        assert page.list.go_to("river mud")
        await press(pilot, "j")
        await press(pilot, "down")
        form = desk.screen
        low = form.query(FieldLine)[1].entry
        assert low.value == "none"
        low.value = "not there"
        await press(pilot, "ctrl+s")
        assert desk.screen is page
        await press(pilot, "minus", *"2026-03-14", "ctrl+s")
        assert desk.screen is page
    with house.read() as db:
        versions = db.scalars(
            select(DescriptorVersion)
            .join(Descriptor)
            .where(Descriptor.name == "river mud")
            .order_by(DescriptorVersion.version)
        ).all()
        assert [(v.version, v.low_words, v.retired_on) for v in versions] == [
            (1, "none", None),
            (2, "not there", date(2026, 3, 14)),
        ]


async def test_a_cask_goes_on_hold_and_the_hold_is_lifted(house: Store, desk: DeskApp) -> None:
    def filling() -> tuple[str | None, date | None, float]:
        with house.read() as db:
            found = db.scalars(select(Filling).where(Filling.label == "SW1/1")).one()
            return found.hold_reason, found.hold_until, found.fill_bulk_l

    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "enter", "h")
        form = desk.screen
        assert isinstance(form, HoldForm)
        reason, until = (line.entry for line in form.lines)
        until.value = "2026-04-01"
        await press(pilot, "ctrl+s")
        assert desk.screen is form
        assert fault_beside(desk, "hold_reason").startswith("!")
        assert filling() == (None, None, 195.0)
        reason.value = NASTY
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, CaskPage)
        assert f"SW1/1 is on hold: {NASTY}" in "\n".join(seen(desk))
        assert filling() == (NASTY, date(2026, 4, 1), 195.0)
        await press(pilot, "h")
        form = desk.screen
        assert isinstance(form, HoldForm)
        assert form.values() == {"hold_reason": NASTY, "hold_until": "2026-04-01"}
        for line in form.lines:
            line.entry.value = ""
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, CaskPage)
        assert filling() == (None, None, 195.0)


@pytest.mark.slow
async def test_an_empty_cask_has_nothing_to_hold(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "slash", *"SW10", "enter", "enter", "h")
        assert isinstance(desk.screen, CaskPage)
        assert "nothing to hold" in "\n".join(seen(desk))


@pytest.mark.slow
async def test_a_line_of_a_target_is_changed_by_the_checks_of_a_file(
    house: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "3", "enter", "l", "enter")
        form = desk.screen
        assert isinstance(form, TargetForm)
        aim = form.line_of("aim")
        assert aim is not None
        aim.entry.value = "140"
        await press(pilot, "ctrl+s")
        assert fault_beside(desk, "aim").startswith("!")
        aim.entry.value = "44.5"
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, TargetLinesPage)
        assert "44.5" in "\n".join(seen(desk))
        await press(pilot, "escape")
        assert "wet hay 44.5" in "\n".join(seen(desk))


@pytest.mark.slow
async def test_a_new_target_begins_with_its_first_line(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "3", "n", *"Lantern", "enter", "enter", "down", "enter")
        await press(pilot, *"30", "enter")
        await press(pilot, *"8", "ctrl+s")
        assert isinstance(desk.screen, TargetsPage)
    with house.read() as db:
        target = db.scalars(select(StoredTarget).where(StoredTarget.name == "Lantern")).one()
        line = target.lines[0]
        assert (line.descriptor.name, line.aim, line.tolerance, line.weight) == (
            *("bonfire", 30.0, 8.0),
            1.0,
        )
