"""From no database to the first steps, and what the machine proposes."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import select

from panel.clock import Clock, machine_zone
from panel.desk.app import DeskApp
from panel.desk.beginning import Beginning
from panel.desk.first_hour import DemoForm, FirstHourPage, NewHouseForm
from panel.desk.folder_form import FolderForm
from panel.desk.new_pin_slip import NewPinSlip
from panel.desk.people import PeoplePage
from panel.desk.slip import Confirm
from panel.desk.start_page import StartPage
from panel.store.casks import Make
from panel.store.house import read_setting
from panel.store.lexicon import Descriptor
from panel.store.log import LogEntry
from panel.store.opening import make_database, open_store
from panel.store.pins import check_pin
from panel.store.who import person_by_code
from tests.desk.driving import press, seen, settle
from tests.desk.kept_pictures import check_picture_in_both_themes
from tests.desk.test_forms import fault_beside

PIN = "271828"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "new" / "house.sqlite"


@pytest.fixture
def desk(path: Path, tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> DeskApp:
    """Give a desk that looks for a database where there is none."""
    monkeypatch.setenv("TZ", "Europe/Lisbon")
    begun = Beginning(
        lambda: make_database(str(path)),
        lambda: "/srv/h.sqlite",
        str(tmp_path / "demo"),
        "LD leads.",
    )
    return DeskApp(lambda: open_store(str(path)), clock=clock, begun=begun)


@pytest.mark.slow
async def test_an_empty_house_is_made_with_its_lead_zone_and_name(
    desk: DeskApp, path: Path
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert isinstance(desk.screen, FirstHourPage)
        assert not path.exists()
        await press(pilot, "enter", "ctrl+s")
        assert fault_beside(desk, "lead").startswith("! give a code")
        await press(pilot, *"LD", "down", *"Sallow Weir", "down", "enter", "enter")
        form = desk.screen
        assert isinstance(form, NewHouseForm)
        assert form.focused is form.lines[-1].entry, "what is typed next goes nowhere else"
        await press(pilot, "ctrl+s")
        assert isinstance(desk.screen, NewPinSlip)
        await press(pilot, "escape")
        assert isinstance(desk.screen, NewHouseForm)
        assert not path.exists()
        await press(pilot, "ctrl+s", *PIN, "enter", *PIN, "enter")
        assert isinstance(desk.screen, StartPage)
        assert "0 of 6 done" in "\n".join(seen(desk))
        assert (desk.by, desk.base, desk.zone) == ("LD", "Sallow Weir", "Europe/Lisbon")
        assert desk.signed_in
        await press(pilot, "5")
        assert isinstance(desk.screen, PeoplePage)
    with open_store(str(path)).read() as db:
        kept = person_by_code(db, "LD").pin_hash
        assert kept is not None
        assert check_pin(PIN, kept)
        assert read_setting(db, "time_zone") == "Europe/Lisbon"
        assert len(db.scalars(select(LogEntry.id)).all()) == 4


@pytest.mark.slow
@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=["80x24", "120x40"])
async def test_the_first_pages_look_as_they_were_kept(desk: DeskApp, size: tuple[int, int]) -> None:
    async with desk.run_test(size=size) as pilot:
        await settle(pilot)
        await check_picture_in_both_themes(pilot, "first-hour", size)
        await press(pilot, "f2", "enter", *"LD", "ctrl+s", *PIN, "enter", *PIN, "enter")
        await check_picture_in_both_themes(pilot, "first-steps", size)


async def test_whoever_sits_here_and_what_an_empty_list_says_stand_whole_at_eighty(
    desk: DeskApp, path: Path
) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter", *"LEAD-01", "ctrl+s", *PIN, "enter", *PIN, "enter")
        assert "+ whole folder" in seen(desk)[-1]
        assert "+ a whole folder" in "\n".join(seen(desk))
        await press(pilot, "2")
        top, *rest = seen(desk)
        assert top.endswith(" LEAD-01")
        assert [f"{n} " in top for n in range(1, 8)] == [True] * 7
        words = " ".join(" ".join(rest).split())
        assert "a file to fill in: 7 House, Save records." in words
        desk.by = "A-CODE-LONGER-THAN-ANY-ROOM-BESIDE-THE-PLACES"
        await press(pilot, "3")
        assert "7 Hou" in seen(desk)[0]
        assert seen(desk)[0].endswith("…")


@pytest.mark.slow
async def test_a_house_from_files_brings_a_folder_in_whole_or_tells_all_its_faults(
    desk: DeskApp, path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("makes.csv").write_text(
        "make,site,cereal,phenol_ppm\nHill,Hill,barley,2\n", encoding="utf-8"
    )
    words = "descriptor,stage,low_words,high_words\nhay,noise,none,much\n"
    Path("lexicon.csv").write_text(words, encoding="utf-8")
    Path("assessors.csv").write_text("assessor,roles\nA1,lead/pourer\n", encoding="utf-8")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "down", "enter", *"LD", "ctrl+s", *PIN, "enter", *PIN, "enter")
        assert isinstance(desk.screen, FolderForm)
        await press(pilot, "f8")
        assert isinstance(desk.screen, Confirm)
        assert "1. makes.csv" in "\n".join(seen(desk))
        await press(pilot, "y", *PIN, "enter")
        text = "\n".join(seen(desk))
        assert "Nothing was written: 2 of 3 files have faults." in text
        assert "lexicon.csv has 1 fault" in text
        assert "assessors.csv has 1 fault" in text
        with open_store(str(path)).read() as db:
            assert db.scalars(select(Make.name)).all() == []
        Path("lexicon.csv").write_text(words.replace("noise", "nose"), encoding="utf-8")
        Path("assessors.csv").write_text("assessor\nA1\n", encoding="utf-8")
        await press(pilot, "escape")
        assert isinstance(desk.screen, FolderForm)
        await press(pilot, "f8", "y", *PIN, "enter")
        assert "makes: 1 new" in "\n".join(seen(desk))
        await press(pilot, "escape")
        assert isinstance(desk.screen, StartPage)
    with open_store(str(path)).read() as db:
        assert db.scalars(select(Make.name)).all() == ["Hill"]
        assert db.scalars(select(Descriptor.name)).all() == ["hay"]


async def test_the_demo_goes_into_a_new_folder_only(desk: DeskApp, tmp_path: Path) -> None:
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "end", "up", "enter")
        assert isinstance(desk.screen, DemoForm)
        (tmp_path / "demo").mkdir()
        await press(pilot, "ctrl+s")
        assert "already" in fault_beside(desk, "folder")
        await press(pilot, "2", "ctrl+s")
    assert desk.demo_folder == tmp_path / "demo2"


@pytest.mark.parametrize(
    ("told", "zone"),
    [("Asia/Tokyo", "Asia/Tokyo"), (":Europe/Berlin", "Europe/Berlin"), ("my own", "UTC")],
)
def test_the_zone_of_the_machine(
    told: str, zone: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("TZ", told)
    assert machine_zone(tmp_path / "localtime") == zone


def test_the_zone_that_the_machine_links_to(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.delenv("TZ", raising=False)
    (tmp_path / "localtime").symlink_to("/usr/share/zoneinfo/America/Lima")
    assert machine_zone(tmp_path / "localtime") == "America/Lima"
