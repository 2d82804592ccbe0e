"""People at the desk: what the keys leave in the records is what the commands leave."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select
from textual.pilot import Pilot

from panel.desk.app import DeskApp
from panel.desk.erase_form import EraseForm
from panel.desk.people import PeoplePage
from panel.desk.people_forms import PersonForm
from panel.desk.person_page import PersonPage
from panel.desk.pin_slip import PinSlip
from panel.desk.slip import ReadSlip
from panel.desk.text_page import TextPage
from panel.questions.plain_values import json_text
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.people import Person
from panel.store.person_record import person_record
from panel.store.pins import check_pin
from panel.store.who import person_by_code
from tests.desk.driving import press, seen, settle
from tests.desk.test_forms import fault_beside
from tests.houses.pins import PIN, give_pins


@pytest.fixture(autouse=True)
def with_pins(house: Store) -> None:
    give_pins(house)


async def choose(pilot: Pilot[Any], words: str) -> None:
    """Find an offer in the list of all and take it."""
    await press(pilot, "full_stop", *words, "enter")


def last_entry(store: Store) -> dict[str, Any]:
    with store.read() as db:
        entry = db.scalars(select(LogEntry).order_by(LogEntry.id.desc())).first()
        assert entry is not None
        body: dict[str, Any] = json.loads(entry.body_json or "{}")
        return body


async def test_somebody_new_is_recorded_and_gets_a_pin_typed_twice(
    house: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *PIN, "enter", "5", "n", *"A9", "enter", "enter")
        await press(pilot, "down", "space", "enter")  # pourer too
        await press(pilot, *"2026-01-05", "ctrl+s")
        assert isinstance(desk.screen, PinSlip)
        await press(pilot, *PIN, "enter")
        assert isinstance(desk.screen, PersonPage)
        assert "A9 is recorded: assessor, pourer" in "\n".join(seen(desk))
        assert last_entry(house)["action"] == "person added"
        await press(pilot, "enter", *PIN, "enter")
        await press(pilot, *"271828", "enter", *"271829", "enter")
        assert "do not match" in "\n".join(seen(desk))
        await press(pilot, *"271828", "enter", *"271828", "enter")
        assert "271828" not in "\n".join(seen(desk))
    with house.read() as db:
        person = person_by_code(db, "A9")
        assert person.joined_on == date(2026, 1, 5)
        assert person.pin_hash is not None
        assert check_pin("271828", person.pin_hash)


@pytest.mark.slow
async def test_a_code_and_a_day_that_are_not_right_are_told_at_their_fields(
    house: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *PIN, "enter", "5", "n", "down", "down", *"tomorrow", "ctrl+s")
        assert isinstance(desk.screen, PersonForm)
        assert fault_beside(desk, "code").startswith("! give a code")
        assert fault_beside(desk, "joined_on").startswith("! 'tomorrow' is not a date")
        await press(pilot, *"AB", "down", "down", *["backspace"] * 8)
        await press(pilot, "ctrl+s", *PIN, "enter")
        assert "already" in fault_beside(desk, "code")


@pytest.mark.slow
async def test_a_pin_made_at_random_is_shown_once(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *PIN, "enter", "5", "enter", "down", "enter", *PIN, "enter")
        slip = desk.screen
        assert isinstance(slip, ReadSlip)
        shown = slip.text.split("is ")[1].split()[0]
        with house.read() as db:
            kept = person_by_code(db, "AB").pin_hash
        assert kept is not None
        assert check_pin(shown, kept)
        await press(pilot, "escape")
        assert shown not in "\n".join(seen(desk))


@pytest.mark.slow
async def test_roles_and_leaving_are_kept(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(
            pilot, *PIN, "enter", "5", "enter", "j", "down", "right", "ctrl+s", *PIN, "enter"
        )
        assert "AB: assessor, pourer" in "\n".join(seen(desk))
        await press(pilot, "minus", "ctrl+s", *PIN, "enter")
        assert "AB left on" in "\n".join(seen(desk))
        with house.read() as db:
            person = person_by_code(db, "AB")
            assert [held.role.value for held in person.roles] == ["assessor", "pourer"]
            assert person.left_on == desk.today()


async def test_the_only_lead_stays(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *PIN, "enter", "5", "end", "enter", "minus", "ctrl+s", *PIN, "enter")
        assert "Nothing was written. LD is the only lead." in " ".join(seen(desk))
        with house.read() as db:
            assert person_by_code(db, "LD").left_on is None


@pytest.mark.slow
async def test_own_data_is_what_the_command_gives_and_goes_into_a_file(
    house: Store, desk: DeskApp, tmp_path: Path
) -> None:
    file = tmp_path / "AB.json"
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *PIN, "enter", "5", "enter")
        await choose(pilot, "their own data")
        assert isinstance(desk.screen, TextPage)
        await press(pilot, "x", *["backspace"] * 30, *str(file), "ctrl+s")
    with house.read() as db:
        assert file.read_text(encoding="utf-8").rstrip() == json_text(person_record(db, "AB"))
    assert file.stat().st_mode & 0o077 == 0


async def test_all_of_it_wants_the_leads_pin_and_is_logged(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *PIN, "enter", "5", "enter")
        await choose(pilot, "all of it")
        assert "For one person and the lead only" in "\n".join(seen(desk))
        await press(pilot, *PIN, "enter")
        assert isinstance(desk.screen, TextPage)
    assert last_entry(house)["action"] == "private record given out"


async def test_an_erasure_says_what_goes_and_wants_the_code_typed(
    house: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *PIN, "enter", "5", "enter", "end", "enter")
        assert isinstance(desk.screen, EraseForm)
        assert "Goes for good: name, PIN, roles and the code AB" in "\n".join(seen(desk))
        await press(pilot, "down", *"CD", "ctrl+s")
        assert "type AB here" in fault_beside(desk, "typed")
        await press(pilot, "backspace", "backspace", *"AB", "ctrl+s", *PIN, "enter")
        assert "AB is erased: name, PIN, roles, code and 0 notes." in "\n".join(seen(desk))
        await press(pilot, "escape")
        assert isinstance(desk.screen, PeoplePage)
    with house.read() as db:
        codes = set(db.scalars(select(Person.code)))
    assert "AB" not in codes
    assert len(codes) == 5


@pytest.mark.slow
async def test_a_consent_is_recorded_and_withdrawn_with_what_is_left_to_do(
    house: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *PIN, "enter", "5", "enter")
        person = desk.screen
        assert isinstance(person, PersonPage)
        await choose(pilot, "Consent")
        await press(pilot, *"2026-01", "ctrl+s")
        assert "to text 2026-01; erased, scores go with them" in "\n".join(seen(desk))
        await choose(pilot, "Withdraw")
        await press(pilot, "y")
        assert isinstance(desk.screen, ReadSlip)
        assert f"oakpanel people erase {person.code}" in "\n".join(seen(desk))
    assert last_entry(house)["action"] == "consent withdrawn"
