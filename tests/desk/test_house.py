"""The house at the desk: settings, rules, register, files, database, as the commands leave them."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from sqlalchemy import select

from panel.desk import restore_form as restoring
from panel.desk.app import DeskApp
from panel.desk.fate_forms import FatesForm
from panel.desk.files_page import FilesPage
from panel.desk.house_page import HousePage
from panel.desk.load_form import CheckedPage, LoadForm
from panel.desk.register_page import RegisterPage
from panel.desk.restore_form import RestoreForm
from panel.desk.save_form import SaveForm
from panel.desk.session_page import SessionPage
from panel.desk.settings_page import SettingForm, SettingsPage
from panel.desk.sign_in import SignIn
from panel.desk.text_page import TextPage
from panel.errors import DatabaseLocked
from panel.intake.kinds import Kind
from panel.intake.saving import save_file, save_template
from panel.kinds import RuleKind
from panel.questions.register import untold_samples
from panel.records.register import account_for
from panel.store import holders as holding
from panel.store.backup import back_up_file
from panel.store.casks import Make
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.house import number_setting, read_setting
from panel.store.opening import file_of
from panel.store.people import Person
from panel.store.rules import rule_books, rules_in_force
from tests.conftest import FIXED_NOW
from tests.desk.driving import press, seen, settle
from tests.desk.test_forms import fault_beside
from tests.houses.held_at_the_desk import NAME, hold
from tests.houses.parts import person
from tests.houses.pins import PIN, give_pins


def said(desk: DeskApp) -> str:
    return " ".join("\n".join(seen(desk)).split())


async def test_seven_leads_to_the_house_and_the_top_line_fits(desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "7")
        assert isinstance(desk.screen, HousePage)
        assert "▌7 House▐" in seen(desk)[0]
        assert seen(desk)[0].endswith("LD")


@pytest.mark.slow
async def test_a_setting_is_changed_within_its_bounds(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "7", "enter", "slash", *"pour_ml", "enter", "enter")
        assert isinstance(desk.screen, SettingForm)
        await press(pilot, "backspace", "backspace", *"99", "ctrl+s")
        assert fault_beside(desk, "value") == "! pour_ml lies between 5 and 50 mL."
        await press(pilot, "backspace", "backspace", *"25", "ctrl+s")
        assert isinstance(desk.screen, SettingsPage)
        assert "pour_ml: 25 mL (was 20)." in said(desk)
    with house.read() as db:
        assert number_setting(db, "pour_ml") == 25


@pytest.mark.slow
async def test_what_guards_people_asks_why_at_its_field(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "7", "enter", "slash", *"dose_day_g", "enter", "enter")
        await press(pilot, "backspace", "backspace", *"30", "ctrl+s")
        assert "it guards people" in said(desk)
        await press(pilot, *"two short days", "ctrl+s")
    with house.read() as db:
        assert number_setting(db, "dose_day_g") == 30


@pytest.mark.slow
async def test_a_time_zone_is_taken_from_the_list(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "7", "enter", "enter", "enter", "slash", *"lisbon", "enter", "enter")
        await press(pilot, "ctrl+s")
        assert desk.zone == "Europe/Lisbon"
    with house.read() as db:
        assert read_setting(db, "time_zone") == "Europe/Lisbon"


@pytest.mark.slow
async def test_a_rule_is_changed_struck_out_and_its_set_put_off(
    house: Store, desk: DeskApp
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "7", "down", "enter", "j", "down", "down", "backspace", *"5")
        await press(pilot, "down", *[c for c in ", as the house has it"], "ctrl+s")
        with house.read() as db:
            [first, *_] = rules_in_force(db)
            assert (first.kind, first.value) == (RuleKind.MINIMUM_AGE, 5.0)
            assert first.cites.endswith("regulation 3, as the house has it")
        await press(pilot, "minus", "ctrl+s")
        assert "name the law" in said(desk)
        await press(pilot, *"none", "ctrl+s")
        await press(pilot, "full_stop", *"set in force", "enter")
        await press(pilot, "y")
    with house.read() as db:
        book = next(each for each in rule_books(db) if each.name == "Scotch whisky")
        assert not book.in_force
        assert RuleKind.MINIMUM_AGE not in [rule.kind for rule in book.rules]


@pytest.mark.slow
async def test_ticked_samples_are_told_of_at_once(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "7", "down", "down", "enter")
        page = desk.screen
        assert isinstance(page, RegisterPage)
        held = [row.sample for row in page.list.rows[:2]]
        await press(pilot, "space", "space", "j")
        assert "2 samples" in said(desk)
        await press(pilot, "ctrl+s")
        assert fault_beside(desk, "reason").startswith("! say why")
        await press(pilot, *"trial", "down", *"poured away", "ctrl+s")
        assert "2 samples: trial; poured away." in said(desk)
        await press(pilot, "v")
        assert "out, L" in said(desk)
    with house.read() as db:
        told = db.scalars(select(Draw.label).where(Draw.fate == "poured away"))
        assert sorted(told) == sorted(held)


@pytest.mark.slow
async def test_the_close_asks_once_and_what_is_left_is_an_open_point(
    house: Store, desk: DeskApp
) -> None:
    hold(house, "open")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", "c", "y")
        assert isinstance(desk.screen, FatesForm)
        await press(pilot, "escape")
        assert isinstance(desk.screen, SessionPage)
        await press(pilot, "7")
        assert f"Open: 4 samples of {NAME} say too little" in said(desk)
        await press(pilot, "1", "enter", "full_stop", *"what became", "enter")
        await press(pilot, *"poured away", "ctrl+s")
        assert "4 leftovers" in said(desk)
        await press(pilot, "7")
        assert "Open:" not in said(desk)


@pytest.mark.slow
async def test_a_line_is_reversed_at_the_desk_as_by_command(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "7", "down", "down", "enter")
        page = desk.screen
        assert isinstance(page, RegisterPage)
        sample = page.list.rows[0].sample
        await press(pilot, "full_stop", *"reverse this", "enter", "ctrl+s")
        assert fault_beside(desk, "because").startswith("! say why")
        await press(pilot, *"half a bottle", "down", *"150", "ctrl+s")
        assert f"The line of {sample} is reversed" in said(desk)
        await press(pilot, "full_stop", *"lines reversed", "enter")
        assert "line 1 (300 mL" in said(desk)
    with house.read() as db:
        assert db.scalar(select(Draw.volume_ml).where(Draw.label == sample)) == 150


@pytest.mark.slow
async def test_the_leftovers_of_a_session_are_told_of_in_one_line(
    house: Store, desk: DeskApp
) -> None:
    hold(house, "closed")
    with house.write() as db:
        untold = untold_samples(db, NAME)
        kept = untold[0].sample
        account_for(db, kept, reason="an older trial", fate=None, now=FIXED_NOW, by="LD")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "7", "down", "down", "enter", "full_stop", *"samples of", "enter")
        await press(pilot, "enter")
        assert isinstance(desk.screen, FatesForm)
        assert f"{len(untold)} say too little" in seen(desk)[1]
        await press(pilot, *"poured away", "ctrl+s")
    with house.read() as db:
        assert untold_samples(db, NAME) == ()
        fates = {draw.label: (draw.reason, draw.fate) for draw in db.scalars(select(Draw))}
    assert fates[kept] == ("an older trial", "poured away")
    assert fates[untold[1].sample] == (f"blind session {NAME}", "poured away")


async def test_a_file_with_faults_shows_them_all_and_writes_nothing(
    house: Store, desk: DeskApp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("makes.csv").write_text(
        "make,site,cereal,phenol_ppm\nHill,Hill,barley,lots\n,Hill,barley,3\n", encoding="utf-8"
    )
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "7", "down", "down", "down", "enter", "f4")
        assert isinstance(desk.screen, FilesPage)
        await press(pilot, "end", "enter")
        assert isinstance(desk.screen, LoadForm)
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, TextPage)
        assert "makes.csv has 2 faults; nothing was written." in said(desk)
        Path("makes.csv").write_text(
            "make,site,cereal,phenol_ppm\nHill,Hill,barley,20\n", encoding="utf-8"
        )
        await press(pilot, "escape", "f8")
        assert isinstance(desk.screen, CheckedPage)
        with house.read() as db:
            assert db.scalar(select(Make).where(Make.name == "Hill")) is None
        await press(pilot, "k")
        assert isinstance(desk.screen, HousePage)
        assert "makes.csv is in the records. makes: 1 new" in said(desk)
    with house.read() as db:
        assert db.scalars(select(Make).where(Make.name == "Hill")).one().phenol_ppm == 20


@pytest.mark.slow
async def test_a_saved_file_is_that_of_the_command(
    house: Store, desk: DeskApp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    save_file(house, Kind.MAKES, tmp_path / "command.csv")
    save_template(Kind.MAKES, tmp_path / "template.csv")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "7", *["down"] * 5, "enter", "f8")
        assert isinstance(desk.screen, HousePage)
        await press(pilot, "enter", "f8")
        assert isinstance(desk.screen, SaveForm)
        assert "there already" in fault_beside(desk, "file")
        await press(pilot, *["backspace"] * 9, *"empty.csv", "down", "right", "down", "down")
        await press(pilot, "right", "down", "right", "ctrl+s")
        assert fault_beside(desk, "names") == "! goes with assessors only"
        assert fault_beside(desk, "wide") == "! goes with scores only"
        await press(pilot, "left", "down", "left", "ctrl+s")
    assert (tmp_path / "makes.csv").read_bytes() == (tmp_path / "command.csv").read_bytes()
    assert (tmp_path / "empty.csv").read_bytes() == (tmp_path / "template.csv").read_bytes()


@pytest.mark.slow
async def test_the_check_says_all_that_the_command_says(house: Store, desk: DeskApp) -> None:
    async with desk.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "7", *["down"] * 6, "enter", "ctrl+s")
        assert isinstance(desk.screen, TextPage)
        assert "integrity: The file is whole." in said(desk)


async def test_a_backup_is_made_and_put_back_past_a_typed_word(
    house: Store, desk: DeskApp, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    give_pins(house)
    back_up_file(file_of(house.url), tmp_path / "before.sqlite")
    with house.write() as db:
        db.add(person("ZZ"))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert isinstance(desk.screen, SignIn)
        await press(pilot, *PIN, "enter", "7", *["down"] * 7, "enter", "ctrl+s")
        assert "the copy is whole" in said(desk)
        assert len(list(tmp_path.glob("panel-*.sqlite"))) == 1
        await press(pilot, "down", "enter")
        assert isinstance(desk.screen, RestoreForm)
        await press(pilot, *"before.sqlite", "down", *"yes", "ctrl+s")
        assert fault_beside(desk, "word") == "! type restore here"
        await press(pilot, *["backspace"] * 3, *"restore", "ctrl+s", *PIN, "enter")
        assert "is now as it was" in said(desk)
        await press(pilot, "escape", "5")
    with house.read() as db:
        assert "ZZ" not in set(db.scalars(select(Person.code)))


def test_a_look_of_the_desk_itself_is_waited_for_others_are_told_of_at_once(
    house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried: list[str] = []

    def put_back() -> Any:
        tried.append("once more")
        if len(tried) < 3:
            raise DatabaseLocked("others have it open")
        return "done"

    monkeypatch.setattr(restoring, "sleep", lambda _s: None)
    monkeypatch.setattr(restoring, "monotonic", lambda: 0.0)
    form: Any = SimpleNamespace(desk=SimpleNamespace(store=house))
    found: Any = RestoreForm._alone(form, put_back)
    assert found == "done"
    assert len(tried) == 3
    tried.clear()
    monkeypatch.setattr(holding, "holders", lambda _store: ("booth (process 7)",))
    with pytest.raises(DatabaseLocked):
        RestoreForm._alone(form, put_back)
    assert len(tried) == 1
