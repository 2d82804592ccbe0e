"""Draws written down at the desk, as `load draws` would have taken them."""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import select

from panel.desk.app import DeskApp
from panel.desk.cask_page import CaskPage
from panel.desk.casks import CasksPage
from panel.desk.draw_form import DrawForm, TrialForm, poured
from panel.kinds import DrawKind
from panel.store.draw_labels import Habit, Named, habit_of, next_label
from panel.store.draws import Draw
from panel.store.engine import Store
from tests.desk.driving import press, seen, settle
from tests.desk.test_forms import fault_beside

DAY = date(2026, 3, 4)


def drawn(house: Store, label: str) -> tuple[object, ...]:
    with house.read() as db:
        draw = db.scalars(select(Draw).where(Draw.label == label)).one()
        filling = draw.filling.label if draw.filling else None
        return draw.kind, filling, draw.drawn_on, draw.volume_ml, draw.abv


@pytest.mark.slow
async def test_each_cask_ticked_gives_a_draw(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "space", "down", "space", "d")
        form = desk.screen
        assert isinstance(form, DrawForm)
        casks = form.casks
        assert len(casks) == 2
        labels = [form.values()[f"sample.{place}"] for place in range(2)]
        await press(pilot, "enter", *"150")
        form.lines[4].entry.value = "57.4"
        await press(pilot, "ctrl+s")
        page = desk.screen
        assert isinstance(page, CasksPage)
        today = desk.today()
        first = (DrawKind.CASK, f"{casks[0]}/1", today, 150.0, 57.4)
        assert drawn(house, labels[0]) == first
        assert drawn(house, labels[1]) == (DrawKind.CASK, f"{casks[1]}/1", today, 150.0, None)
        assert labels[0] in "\n".join(seen(desk))
        assert "✓" not in "\n".join(seen(desk))


@pytest.mark.slow
async def test_a_day_and_a_strength_are_taken_as_they_are_written_here(
    house: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "space", "d")
        form = desk.screen
        assert isinstance(form, DrawForm)
        label = form.values()["sample.0"]
        typed = {"drawn_on": "03.04.2026", "volume_ml": "1,234", "abv.0": "58,1"}
        for name, value in typed.items():
            line = form.line_of(name)
            assert line is not None
            line.entry.value = value
        await press(pilot, "ctrl+s")
        assert "2026-04-03 or 2026-03-04" in fault_beside(desk, "drawn_on")
        assert "could be 1234 or 1.234" in fault_beside(desk, "volume_ml")
        assert fault_beside(desk, "abv.0") == "% vol, where it was measured"
        form.lines[0].entry.value, form.lines[1].entry.value = "28.02.2026", "120"
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, CasksPage)
    assert drawn(house, label)[2:] == (date(2026, 2, 28), 120.0, 58.1)


@pytest.mark.slow
async def test_a_form_of_draws_begins_at_its_first_field(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "space", "d")
        form = desk.screen
        assert isinstance(form, DrawForm)
        assert [line.field.name for line in form.lines][:2] == ["drawn_on", "volume_ml"]
        today = desk.today().isoformat()
        assert form.lines[0].entry.has_focus
        assert form.values()["drawn_on"] == today
        # What is proposed can be taken back sign by sign: the cursor stands behind it.
        await press(pilot, "backspace", "backspace", *"01")
        assert form.values()["drawn_on"] == f"{today[:-2]}01"


@pytest.mark.slow
async def test_a_sample_that_is_known_is_refused_and_not_changed(
    house: Store, desk: DeskApp
) -> None:
    with house.read() as db:
        known = db.scalars(select(Draw.label).where(Draw.kind == DrawKind.CASK)).first()
    assert known is not None
    before = drawn(house, known)
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "enter")
        assert isinstance(desk.screen, CaskPage)
        await press(pilot, "d")
        form = desk.screen
        assert isinstance(form, DrawForm)
        for line in form.lines:
            if line.field.name == "sample.0":
                line.entry.value = known
        await press(pilot, "enter", *"lots", "ctrl+s")
        assert desk.screen is form
        assert "already" in fault_beside(desk, "sample.0")
        assert fault_beside(desk, "volume_ml").startswith("!")
    assert drawn(house, known) == before


@pytest.mark.slow
async def test_an_empty_cask_is_not_drawn(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2")
        page = desk.screen
        assert isinstance(page, CasksPage)
        assert page.list.go_to("SW10")
        await press(pilot, "d", "enter", *"100", "ctrl+s")
        assert isinstance(desk.screen, DrawForm)
        assert "nothing was ever filled" in fault_beside(desk, "sample.0")


async def test_a_trial_of_a_blend_keeps_its_parts(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(TrialForm({"SW3": 150.0, "SW4": 50.0}, "Lantern"))
        await settle(pilot)
        form = desk.screen
        assert isinstance(form, TrialForm)
        form.lines[0].entry.value = "TRY-1"
        form.lines[2].entry.value = "1,234"
        await press(pilot, "ctrl+s")
        assert "could be 1234 or 1.234" in fault_beside(desk, "parts.0")
        form.lines[2].entry.value = "74,5"
        await press(pilot, "ctrl+s")
        assert form is not desk.screen
    with house.read() as db:
        draw = db.scalars(select(Draw).where(Draw.label == "TRY-1")).one()
        parts = {part.filling.label: part.millilitres for part in draw.parts}
        assert parts == {"SW3/1": 74.5, "SW4/1": 25.0}
        assert (draw.kind, draw.volume_ml) == (DrawKind.TRIAL, 99.5)


def test_parts_are_poured_in_half_millilitres() -> None:
    assert poured({"A": 1.0, "B": 2.0}) == {"A": 33.5, "B": 66.5}
    assert poured({"A": 0.001, "B": 200.0}) == {"A": 0.5, "B": 100.0}


@pytest.mark.parametrize(
    ("labels", "following"),
    [
        ([], "C7-1"),
        (["C1-1", "C2-1", "C1-2"], "C7-1"),
        (["C1-01", "C2-01"], "C7-01"),
        (["2026-03-01 C1", "2026-03-01 C2"], "2026-03-04 C7"),
        (["C1/1 260301", "C2/1 260301"], "C7/2 260304"),
        (["a glass", "another"], "C7-1"),
    ],
)
def test_a_label_follows_the_habit_of_the_house(labels: list[str], following: str) -> None:
    known = [Named(each, c, f"{c}/1", date(2026, 3, 1)) for each in labels for c in _in(each)]
    assert next_label(habit_of(known), "C7", "C7/2", DAY, labels) == following


def _in(label: str) -> list[str]:
    return [next((cask for cask in ("C1", "C2") if cask in label), "C1")]


def test_a_label_comes_after_those_that_are_taken() -> None:
    assert next_label(Habit(), "C7", "C7/1", DAY, {"C7-2", "C7-9", "C70-30"}) == "C7-10"
    dated = Habit("\x04 \x01", 0)
    assert next_label(dated, "C7", "C7/1", DAY, {"2026-03-04 C7"}) == "2026-03-04 C7-2"
