"""Files with headings of a house's own, brought in at the desk as by command."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import select

from panel.desk.app import DeskApp
from panel.desk.columns_form import ColumnsForm, DatesForm
from panel.desk.files_page import FilesPage
from panel.desk.folder_form import FolderForm
from panel.desk.folder_kinds_form import FolderKindsForm
from panel.desk.homes import page_of
from panel.desk.load_form import CheckedPage, FaultsPage, LoadForm
from panel.desk.pick import PickPage
from panel.desk.slip import Confirm
from panel.intake.kinds import Kind
from panel.intake.loading import load_file
from panel.intake.own_headings import read_kept
from panel.intake.said import Said
from panel.intake.saving import save_file
from panel.store.casks import Make
from panel.store.engine import Store
from panel.store.lexicon import Descriptor
from panel.store.opening import make_database
from tests.conftest import FIXED_NOW
from tests.desk.driving import press, seen, settle
from tests.desk.kept_pictures import check_picture_in_both_themes
from tests.desk.test_forms import fault_beside
from tests.intake.test_files_as_kept import GERMAN, JAPANESE, OF_GERMAN, OF_JAPANESE
from tests.thinned import some

FILES = {"german": (GERMAN, "cp1252", OF_GERMAN), "japanese": (JAPANESE, "cp932", OF_JAPANESE)}


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def said(desk: DeskApp) -> str:
    return "\n".join(seen(desk))


def chosen(desk: DeskApp, named: dict[str, str]) -> None:
    """Choose a column for each heading of the form that stands there."""
    form = desk.screen
    assert isinstance(form, ColumnsForm)
    for line, each in zip(form.lines[1:], form.question.headings, strict=True):
        line.entry.value = named[each.heading]


async def load(pilot: object, desk: DeskApp, kind: str, file: str) -> None:
    desk.push_screen(page_of("load", kind))
    await settle(pilot)  # type: ignore[arg-type]
    form = desk.screen
    assert isinstance(form, LoadForm)
    form.lines[1].entry.value = file
    await press(pilot, "f8")  # type: ignore[arg-type]


@pytest.mark.parametrize("which", some(FILES, 2))
async def test_a_file_of_own_headings_comes_in_as_by_command(
    which: str, house: Store, desk: DeskApp, here: Path
) -> None:
    text, letters, named = FILES[which]
    (here / "file.csv").write_bytes(text.encode(letters))
    other = make_database(str(here / "other.sqlite"))
    load_file(other, "casks", here / "file.csv", now=FIXED_NOW, by="x", said=Said(named))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await load(pilot, desk, "casks", "file.csv")
        assert isinstance(desk.screen, ColumnsForm)
        chosen(desk, named)
        await press(pilot, "f8")
        assert isinstance(desk.screen, CheckedPage)
        assert "headings stand in row" in said(desk)
        await press(pilot, "k")
        (here / "next.csv").write_bytes(text.encode(letters))
        await load(pilot, desk, "casks", "next.csv")
        assert isinstance(desk.screen, CheckedPage)  # nothing is asked a second time
        assert "Headings named for an earlier file" in said(desk)
    with house.read() as db, other.read() as theirs:
        assert read_kept(db, Kind.CASKS) == read_kept(theirs, Kind.CASKS)
    save_file(other, "casks", here / "theirs.csv")
    save_file(house, "casks", here / "ours.csv")
    ours = (here / "ours.csv").read_text().splitlines()
    assert set((here / "theirs.csv").read_text().splitlines()) <= set(ours)
    other.close()


async def test_columns_chosen_wrongly_are_chosen_anew_from_the_faults(
    house: Store, desk: DeskApp, here: Path
) -> None:
    (here / "file.csv").write_bytes(GERMAN.encode("cp1252"))
    wrong = {ours: heading for heading, ours in OF_GERMAN.items()}
    strength, litres = wrong["fill_abv"], wrong["fill_bulk_l"]
    swapped = {**OF_GERMAN, strength: "fill_bulk_l", litres: "fill_abv"}
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await load(pilot, desk, "casks", "file.csv")
        chosen(desk, swapped)
        await press(pilot, "f8")
        assert isinstance(desk.screen, FaultsPage)
        await press(pilot, "enter")
        form = desk.screen
        assert isinstance(form, ColumnsForm)
        assert {each.heading: each.column for each in form.question.headings} == swapped
        chosen(desk, OF_GERMAN)
        await press(pilot, "f8")
        assert isinstance(desk.screen, CheckedPage)


async def test_faults_at_the_desk_name_its_page_and_no_option(
    house: Store, desk: DeskApp, here: Path
) -> None:
    (here / "file.csv").write_bytes(GERMAN.encode("cp1252"))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await load(pilot, desk, "casks", "file.csv")
        await press(pilot, "escape")
        assert isinstance(desk.screen, FaultsPage)
        assert "Enter asks what each heading means." in desk.screen.text
        assert "--column" not in desk.screen.text


@pytest.mark.slow
async def test_a_column_is_picked_from_a_list_and_what_is_wanting_is_told(
    house: Store, desk: DeskApp, here: Path
) -> None:
    text = "Our makes\nBrand,site,cereal,phenol_ppm,Kürzel\nplain,Weir,barley,1,x\n"
    (here / "makes.csv").write_text(text, encoding="utf-8")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await load(pilot, desk, "makes", "makes.csv")
        form = desk.screen
        assert isinstance(form, ColumnsForm)
        await check_picture_in_both_themes(pilot, "columns", (80, 24))
        await press(pilot, "f8")
        assert "choose a column" in fault_beside(desk, "0")
        assert "No heading is make yet." in said(desk)
        await press(pilot, "enter")
        assert isinstance(desk.screen, PickPage)
        await press(pilot, "enter")
        assert form.values()["0"] == "make"
        form.lines[-1].entry.focus()
        await press(pilot, "enter", "end", "enter", "f8")
        assert isinstance(desk.screen, CheckedPage)
        assert "Brand is make, Kürzel is left out" in said(desk)


@pytest.mark.slow
async def test_another_row_can_be_pointed_at(house: Store, desk: DeskApp, here: Path) -> None:
    text = "Stand,von,heute\nBrand,Ort,Korn,ppm\nplain,Weir,barley,1\n"
    (here / "makes.csv").write_text(text, encoding="utf-8")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await load(pilot, desk, "makes", "makes.csv")
        form = desk.screen
        assert isinstance(form, ColumnsForm)
        assert form.question.heading_row == 1
        form.lines[0].entry.value = "2"
        await press(pilot, "f8")
        chosen(desk, dict(zip(("Brand", "Ort", "Korn", "ppm"), MAKES, strict=True)))
        await press(pilot, "f8", "k")
    with house.read() as db:
        assert db.scalars(select(Make).where(Make.name == "plain")).one().site == "Weir"


MAKES = ("make", "site", "cereal", "phenol_ppm")


@pytest.mark.slow
async def test_a_date_that_could_be_two_is_asked_once(
    house: Store, desk: DeskApp, here: Path
) -> None:
    text = "assessor,joined_on\nQ1,03.09.2024\nQ2,04.10.2024\n"
    (here / "assessors.csv").write_text(text, encoding="utf-8")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await load(pilot, desk, "assessors", "assessors.csv")
        assert isinstance(desk.screen, DatesForm)
        await press(pilot, "f8")
        assert "choose the day" in fault_beside(desk, "joined_on")
        await press(pilot, "right")
        assert "3 September 2024" in said(desk)
        await press(pilot, "f8")
        assert isinstance(desk.screen, CheckedPage)
        assert "read day first: as was said" in said(desk)


async def test_escape_leaves_the_file_and_its_faults_are_told(
    house: Store, desk: DeskApp, here: Path
) -> None:
    (here / "makes.csv").write_text("Brand,site,cereal,phenol_ppm\na,b,c,1\n", encoding="utf-8")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await load(pilot, desk, "makes", "makes.csv")
        assert isinstance(desk.screen, ColumnsForm)
        await press(pilot, "escape")
        assert "makes.csv has 2 faults" in said(desk)


@pytest.mark.slow
async def test_a_folder_asks_of_each_file_what_it_does_not_tell(
    house: Store, desk: DeskApp, here: Path
) -> None:
    (here / "makes.csv").write_text("Brand,site,cereal,phenol_ppm\nq,b,c,1\n", encoding="utf-8")
    words = "descriptor,stage,low_words,high_words,introduced_on\nq,nose,a,b,03.09.2024\n"
    (here / "lexicon.csv").write_text(words, encoding="utf-8")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(page_of("folder"))
        await settle(pilot)
        assert isinstance(desk.screen, FolderForm)
        await press(pilot, "f8")
        assert isinstance(desk.screen, ColumnsForm)
        chosen(desk, dict(zip(("Brand", *MAKES[1:]), MAKES, strict=True)))
        await press(pilot, "f8")
        assert isinstance(desk.screen, DatesForm)
        await press(pilot, "right", "f8")
        assert isinstance(desk.screen, Confirm)
        await press(pilot, "y")
        assert "makes: 1 new" in said(desk)
    with house.read() as db:
        assert db.scalars(select(Make).where(Make.name == "q")).one().site == "b"


@pytest.mark.slow
async def test_columns_of_a_folder_chosen_wrongly_are_asked_anew_after_the_faults(
    house: Store, desk: DeskApp, here: Path
) -> None:
    (here / "makes.csv").write_text("Brand,Ort,Korn,ppm\nq,b,c,1\n", encoding="utf-8")
    right = dict(zip(("Brand", "Ort", "Korn", "ppm"), MAKES, strict=True))
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(page_of("folder"))
        await settle(pilot)
        await press(pilot, "f8")
        chosen(desk, {**right, "Korn": "phenol_ppm", "ppm": "cereal"})
        await press(pilot, "f8", "y")
        assert "column Korn, taken as phenol_ppm" in said(desk)
        await press(pilot, "escape", "f8")
        assert isinstance(desk.screen, ColumnsForm)
        chosen(desk, right)
        await press(pilot, "f8", "y")
        assert "makes: 1 new" in said(desk)


@pytest.mark.slow
async def test_words_to_find_end_where_a_folder_is_entered(desk: DeskApp, here: Path) -> None:
    (here / "house").mkdir()
    (here / "house" / "makes.csv").write_text("make\n", encoding="utf-8")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(page_of("load", "makes"))
        await settle(pilot)
        await press(pilot, "f4", "slash", *"hous", "enter", "enter")
        files = desk.screen
        assert isinstance(files, FilesPage)
        assert files.folder == here / "house"
        await press(pilot, "slash", *"make")
        assert [entry.name for entry in files.list.shown] == ["makes.csv"]


@pytest.mark.slow
async def test_a_folder_of_files_called_otherwise_asks_which_kind_each_is(
    house: Store, desk: DeskApp, here: Path
) -> None:
    for name, text in FOLDER.items():
        Path(name).write_text(text, encoding="utf-8")
    async with desk.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        desk.push_screen(page_of("folder"))
        await settle(pilot)
        await press(pilot, "f8")
        form = desk.screen
        assert isinstance(form, FolderKindsForm)
        assert list(form.values().items()) == [("2", "makes"), ("3", "(left out)")]
        await check_picture_in_both_themes(pilot, "folder-kinds", (80, 24))
        await press(pilot, "f8")
        assert "choose a kind" in fault_beside(desk, "0")
        await press(pilot, "enter", "slash", *"lexicon", "enter")
        await press(pilot, "enter", "end", "enter", "f8")
        assert isinstance(desk.screen, ColumnsForm)
        chosen(desk, dict(zip(OWN_WORDS, LEXICON, strict=True)))
        await press(pilot, "f8")
        assert isinstance(desk.screen, Confirm)
        assert "2. Beschreibungen.csv as lexicon" in said(desk)
        await press(pilot, "y")
        assert "makes: 1 new" in said(desk)
    with house.read() as db:
        assert db.scalars(select(Make).where(Make.name == "q")).one().site == "b"
        assert db.scalars(select(Descriptor.name).where(Descriptor.name == "heu")).all() == ["heu"]


OWN_WORDS = ("Wort", "Stufe", "wenig", "viel")
LEXICON = ("descriptor", "stage", "low_words", "high_words")
FOLDER = {
    "Beschreibungen.csv": ",".join(OWN_WORDS) + "\nheu,nose,a,b\n",
    "Fremdes.csv": "a,b\n1,2\n",
    "Rohbrände.csv": ",".join(MAKES) + "\nq,b,c,1\n",
    "stock.csv": "cask\n1\n",
}
