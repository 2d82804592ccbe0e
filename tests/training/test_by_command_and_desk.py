"""Training by command and at the desk: to the person and the lead, and to nobody else."""

from __future__ import annotations

import pytest

from panel.cli import invocation
from panel.desk.app import DeskApp
from panel.desk.person_page import PersonPage
from panel.desk.training_pages import (
    BeginTrainingForm,
    ReadinessPage,
    TakeInForm,
    TrainingsPage,
)
from panel.questions.people import people_lines
from panel.store.engine import Store
from tests.cli.calling import Call, caller
from tests.desk.driving import press, seen, settle, signed_in
from tests.houses.in_training import BEGUN, EXERCISES, GOOD, NOW, POOR, build_in_training
from tests.houses.pins import PIN, give_pins


@pytest.fixture
def house(store: Store) -> Store:
    build_in_training(store)
    return store


@pytest.fixture
def oakpanel(
    house: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Call:
    monkeypatch.setattr(invocation.Invocation, "now", lambda _self: NOW)
    return caller(capsys, monkeypatch, "--db", str(house.url.database), house=house)


def test_from_the_first_day_to_the_taking_in(oakpanel: Call, house: Store) -> None:
    for code in (GOOD, POOR):
        begun = oakpanel("training", "begin", code, "--on", str(BEGUN), "--json").document
        assert begun == {
            "format": 1,
            "person": code,
            "begun_on": str(BEGUN),
            "exercises": list(EXERCISES),
        }
    assert oakpanel("training", "list").out.split()[-4:] == [POOR, str(BEGUN), "-", "4"]
    known = oakpanel("training", "known", "--json").document["samples"]
    assert len(known) == 24
    assert {each["kind"] for each in known} == {"reference"}
    found = oakpanel("training", "show", GOOD, "--json").document
    assert (found["verdict"], found["reading"]["passed"]) == ("ready", True)
    said = oakpanel("--by", POOR, "training", "show", POOR).out
    assert said.startswith("Not yet. T2 does not read with the panel yet over 4 exercises")
    assert "For this person and the lead alone." in said
    drawn = oakpanel("training", "show", GOOD, "--picture", "-").out
    assert "Is T1 coming nearer to the panel?" in drawn
    assert all(name in drawn for name in EXERCISES)
    assert all(len(line) <= 80 for line in said.splitlines())
    listed = oakpanel("people", "list", "--json").document["people"]
    assert [p["code"] for p in listed if p["in_training_since"]] == [GOOD, POOR]
    refused = oakpanel("training", "take-in", POOR)
    assert (refused.code, "not called ready" in refused.err) == (1, True)
    assert "one of the panel from 2026-03-14 on" in oakpanel("training", "take-in", GOOD).out
    with house.read() as db:
        since = {line.code: line.in_training_since for line in people_lines(db)}
    assert (since[GOOD], since[POOR]) == (None, BEGUN)


def test_how_far_somebody_is_nobody_else_is_shown(oakpanel: Call) -> None:
    oakpanel("training", "begin", POOR, "--on", str(BEGUN))
    other = oakpanel("--by", GOOD, "training", "show", POOR)
    assert (other.code, other.out) == (1, "")
    never = oakpanel("training", "show", GOOD)
    assert (never.code, "never was in training" in never.err) == (1, True)


async def test_the_pages_of_the_desk(house: Store) -> None:
    give_pins(house)
    desk = signed_in(DeskApp(house, by="L1", clock=lambda: NOW))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        page = PersonPage(GOOD)
        desk.push_screen(page)
        await settle(pilot)
        page.action_training()
        await settle(pilot)
        form = desk.screen
        assert isinstance(form, BeginTrainingForm)
        form.lines[0].entry.value = str(BEGUN)
        await press(pilot, "ctrl+s", *PIN, "enter")
        assert desk.screen is page
        assert "In training since 2026-02-01." in "\n".join(seen(desk))
        page.action_ready()
        await settle(pilot)
        assert isinstance(desk.screen, ReadinessPage)
        assert "Ready. T1 reads with the panel over 4 exercises" in "\n".join(seen(desk))
        await press(pilot, "f6")
        assert "Is T1 coming nearer to the panel?" in "\n".join(seen(desk))
        await press(pilot, "escape")
        await press(pilot, "escape")
        desk.push_screen(TrainingsPage())
        await settle(pilot)
        assert "What an exercise is poured from" in "\n".join(seen(desk))
        await press(pilot, "escape")
        page.action_take_in()
        await settle(pilot)
        assert isinstance(desk.screen, TakeInForm)
        await press(pilot, "ctrl+s", *PIN, "enter")
        assert desk.screen is page
        assert "In training since" not in "\n".join(seen(desk))
    with house.read() as db:
        assert not [line for line in people_lines(db) if line.in_training_since]
