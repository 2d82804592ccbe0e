"""Acts that bind at the desk: the PIN of the door is enough for most, some ask again."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import pytest
from sqlalchemy import select
from textual.pilot import Pilot
from textual.widgets import Static

import panel.desk
from panel.clock import Clock
from panel.desk.app import DeskApp
from panel.desk.fate_forms import FatesForm
from panel.desk.form import FormPage
from panel.desk.person_page import PersonPage
from panel.desk.pin_slip import PinSlip
from panel.desk.session_page import SessionPage
from panel.desk.slip import ReadSlip
from panel.desk.window import SayLine
from panel.kinds import SessionStatus
from panel.records.acts import Act
from panel.records.people import recover_pin
from panel.store.engine import Store
from panel.store.sessions import PanelSession
from tests.conftest import FIXED_NOW
from tests.desk.driving import press, seen, settle
from tests.houses.held_at_the_desk import hold
from tests.houses.pins import PIN, give_pins

BINDING_FORMS = {
    "MarkForm": Act.MARK,
    "ReopenForm": Act.OPEN,
    "SeatsForm": Act.SEAL,
    "KeyInForm": Act.KEY_IN,
    **dict.fromkeys(("PackForm", "RecallForm"), Act.PACK),
    "ReturnForm": Act.RETURN,
    "JoinForm": Act.JOIN,
    "OpenPackForm": Act.UNPACK,
    "DisgorgeForm": Act.DISGORGE,
    "KeepForm": Act.PROPOSE,
    "ProposePlannedForm": Act.PROPOSE,
    "BottleForm": Act.BOTTLE,
    **dict.fromkeys(
        ("PersonForm", "RolesForm", "LeavingForm", "BeginTrainingForm", "TakeInForm"), Act.ROLES
    ),
    "EraseForm": Act.ERASE,
    "ConsentForm": Act.CONSENT,
    "SettingForm": Act.SETTING,
    **dict.fromkeys(("RuleForm", "DropRuleForm"), Act.RULE),
    **dict.fromkeys(("TellForm", "FatesForm", "ReverseForm"), Act.REGISTER),
    "RestoreForm": Act.RESTORE,
}
FREE_FORMS = {
    *("BlendForm", "RecordForm", "EventForm", "RegaugeForm", "HoldForm", "DescriptorForm"),
    *("ReleaseForm", "BenchForm", "CancelForm", "ExponentForm", "SignForm"),
    *("VersionForm", "RetireForm", "TargetForm", "PlanForm", "ProposingForm", "DrawForm"),
    *("TrialForm", "CaskForm", "MakeForm", "KeepLikeForm", "StrengthPage", "NarrowForm"),
    *("DeedForm", "TextFileForm"),
    *("CheckForm", "BackupForm", "FileForm", "LoadForm", "SaveForm", "NewHouseForm", "DemoForm"),
    *("FolderForm", "FolderKindsForm", "ColumnsForm", "DatesForm"),
    *("SeenToForm", "StockPartForm", "RemarkForm", "OneRemarkForm", "CloseRemarkForm"),
    *(
        "SafetyForm",
        "ForgetWhoForm",
        "ForgettingForm",
        "LotForm",
        "LotBottlesForm",
        "BottleGoneForm",
        "NoseLotForm",
    ),
    *("SheetForm", "TastingForm", "PlanNextForm", "PowerForm", "LookForm", "ServeForm"),
    *("BatchCheckForm", "PlannedReleaseForm", "PlanChangeForm", "PlanWholeForm", "SoundForm"),
    "SpikeForm",
    *("OfSession", "FirstPinForm", "FirstPackForm"),
}
"""Forms that ask nobody for a PIN before; whoever signs types theirs into the form itself."""


def forms(kind: type[FormPage]) -> Iterator[type[FormPage]]:
    for each in kind.__subclasses__():
        yield each
        yield from forms(each)


def test_every_form_is_one_that_binds_or_one_that_does_not() -> None:
    for module in iter_modules(panel.desk.__path__, "panel.desk."):
        import_module(module.name)
    found = {
        each.__name__: each.ACT for each in forms(FormPage) if each.__module__[:11] == "panel.desk."
    }
    assert found == BINDING_FORMS | dict.fromkeys(FREE_FORMS)


def stage_of(store: Store) -> SessionStatus:
    with store.read() as db:
        return db.scalars(select(PanelSession.status)).one()


@pytest.fixture
def door(house: Store, clock: Clock) -> DeskApp:
    """Give a desk at whose door nobody has been yet."""
    return DeskApp(house, by="LD", clock=clock)


async def go_in(desk: DeskApp, pilot: Pilot[None], *pin: str) -> None:
    await settle(pilot)
    await press(pilot, *pin, "enter")
    assert isinstance(desk.screen, SessionPage)


async def test_the_pin_of_the_door_is_enough_for_a_step(house: Store, door: DeskApp) -> None:
    hold(house, "sealed")
    give_pins(house)
    async with door.run_test(size=(80, 24)) as pilot:
        await go_in(door, pilot, *PIN, "enter")
        await press(pilot, "o", "y")
        assert isinstance(door.screen, SessionPage)
    assert stage_of(house) is SessionStatus.OPEN


async def test_the_key_is_printed_by_the_pin_there_and_then(
    house: Store, door: DeskApp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    hold(house, "sealed")
    give_pins(house)
    monkeypatch.chdir(tmp_path)

    def sheets() -> list[Path]:
        return list(tmp_path.glob("*-pour-sheet*.txt"))

    async with door.run_test(size=(80, 24)) as pilot:
        await go_in(door, pilot, *PIN, "enter")
        await press(pilot, "p", "y")
        assert isinstance(door.screen, PinSlip)
        await press(pilot, *"9999", "enter")
        assert "do not go together" in door.screen.query_one(SayLine).said
        assert sheets() == []
        await press(pilot, "escape")
        assert isinstance(door.screen, SessionPage)
        assert sheets() == []
        await press(pilot, "p", "y", *PIN, "enter")
        assert isinstance(door.screen, ReadSlip)
    assert len(sheets()) == 1


async def test_a_house_without_pins_gets_one_at_the_first_step(house: Store, door: DeskApp) -> None:
    hold(house, "sealed")
    async with door.run_test(size=(80, 24)) as pilot:
        await go_in(door, pilot)
        await press(pilot, "o", "y")
        assert isinstance(door.screen, PinSlip)
        assert "a new one, twice" in str(door.screen.query_one("#question", Static).content)
        await press(pilot, *"8642", "enter", *"8643", "enter")
        assert "do not match" in door.screen.query_one(SayLine).said
        await press(pilot, *"1234", "enter", *"1234", "enter")
        assert "easily guessed" in door.screen.query_one(SayLine).said
        assert stage_of(house) is SessionStatus.SEALED
        await press(pilot, *"8642", "enter", *"8642", "enter")
        assert stage_of(house) is SessionStatus.OPEN
        await press(pilot, "c", "y")
        assert isinstance(door.screen, FatesForm), "who has just typed it is not asked again"
    assert stage_of(house) is SessionStatus.CLOSED


async def test_a_pin_given_past_the_leads_is_told_for_thirty_days(
    house: Store, clock: Clock
) -> None:
    give_pins(house)
    recover_pin(house, "LD", PIN, at=FIXED_NOW)
    for days, told in ((29, True), (31, False)):
        later = FIXED_NOW + timedelta(days=days)
        desk = DeskApp(house, by="LD", clock=lambda at=later: at)  # type: ignore[misc]
        async with desk.run_test(size=(120, 40)) as pilot:
            await settle(pilot)
            await press(pilot, *PIN, "enter")
            said = " ".join("\n".join(seen(desk)).split())
            assert ("LD got a PIN past the leads on 2026-03-14" in said) is told
            await press(pilot, "5", "end", "enter")
            assert isinstance(desk.screen, PersonPage)
            assert ("past the leads on 2026-03-14" in "\n".join(seen(desk))) is told
