"""A folder of files: all faults of all files at once and nothing written, or all of them in."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import select

from panel.intake.folder import load_folder
from panel.intake.folder_kinds import folder_files, in_their_order, kind_by_headings
from panel.intake.kinds import Kind
from panel.intake.report import LoadReport
from panel.intake.said import Said
from panel.intake.saving import save_file
from panel.store.casks import Cask, Make
from panel.store.log import LogEntry
from tests.intake.files import BY, NOW, STOCK, House, said


def folder_of(house: House, **files: str) -> Path:
    folder = house.folder / "files"
    folder.mkdir(exist_ok=True)
    for name, text in files.items():
        (folder / f"{name}.csv").write_text(text)
    return folder


def load(house: House, folder: Path, **options: Said) -> list[LoadReport]:
    told = {folder / f"{name}.csv": each for name, each in options.items()}
    kinds = {file.path: file.kind for file in folder_files(house.store, folder)}
    files = in_their_order(kinds)
    return load_folder(house.store, files, now=NOW, by=BY, tell=lambda _file: None, said=told)


FILES = {kind.value: text for kind, text in STOCK}


def test_a_whole_folder_comes_in_with_an_entry_a_file(empty: House) -> None:
    reports = load(empty, folder_of(empty, **FILES))
    assert all(report.written for report in reports)
    with empty.store.read() as db:
        assert len(list(db.scalars(select(LogEntry)))) == len(FILES)
        assert len(list(db.scalars(select(Cask)))) == 4


def test_all_faults_of_all_files_are_told_and_nothing_is_written(empty: House) -> None:
    """A cask whose row has a fault is not unknown to the files after it, another one is."""
    files = {
        "makes": FILES["makes"].replace("1.5", "much"),
        "casks": FILES["casks"].replace("190,", "x,"),
        "draws": FILES["draws"] + "C9 spring,cask,C9,2024-01-10\n",
        "lexicon": FILES["lexicon"].replace("nose", "noise", 1),
    }
    reports = load(empty, folder_of(empty, **files))
    assert [said(report) for report in reports] == [
        [(2, "phenol_ppm", "much")],
        [(2, "fill_bulk_l", "x")],
        [(5, "cask", "C9")],
        [(2, "stage", "noise")],
    ]
    assert not any(report.written for report in reports)
    with empty.store.read() as db:
        assert not list(db.scalars(select(Make)))
        assert not list(db.scalars(select(LogEntry)))


def test_what_an_unread_file_would_have_brought_is_not_called_unknown(empty: House) -> None:
    files = {**FILES, "casks": FILES["casks"].replace("wood", "staves")}
    reports = load(empty, folder_of(empty, **files))
    faulty = [report.file for report in reports if report.problems]
    assert faulty == ["casks.csv"]


def test_twins_in_a_file_hide_no_faults_of_the_next(empty: House) -> None:
    files = {
        "makes": FILES["makes"] + "plain,Other,barley,1,,\n",
        "lexicon": FILES["lexicon"].replace("nose", "noise", 1),
    }
    reports = load(empty, folder_of(empty, **files))
    assert [len(report.problems) for report in reports] == [1, 1]


def test_own_headings_of_a_file_of_the_folder(empty: House) -> None:
    files = {**FILES, "makes": FILES["makes"].replace("make,", "Brand,", 1)}
    folder = folder_of(empty, **files)
    assert not any(report.written for report in load(empty, folder))
    assert all(report.written for report in load(empty, folder, makes=Said({"Brand": "make"})))


def test_the_kind_of_a_file_is_told_by_its_name_or_by_its_headings(empty: House) -> None:
    folder = folder_of(
        empty,
        people="assessor,roles\nA1,lead\n",
        **{
            "stock": "cask\nC1\n",
            "Rohbrände": FILES["makes"],
            "casks 2025": "Fass;Holz\n1;x\n",
            "Fassliste": "Fass;Holz\n1;x\n",
            "Wörter": FILES["lexicon"].splitlines()[0] + ",Bemerkung\n",
        },
    )
    (folder / "notes.txt").write_text("cask\n")
    (folder / "~$people.xlsx").write_bytes(b"")
    found = {file.path.stem: (file.kind, file.sure) for file in folder_files(empty.store, folder)}
    assert found == {
        "people": (Kind.ASSESSORS, True),
        "stock": (None, True),
        "Rohbrände": (Kind.MAKES, False),
        "casks 2025": (Kind.CASKS, False),
        "Fassliste": (None, False),
        "Wörter": (Kind.LEXICON, False),
    }


def test_a_file_that_cannot_be_read_is_at_fault_as_a_whole(empty: House) -> None:
    """Row 0 is the whole file: no row is named in what is said."""
    folder = folder_of(empty, makes=FILES["makes"])
    files = in_their_order({each.path: each.kind for each in folder_files(empty.store, folder)})
    (folder / "makes.csv").unlink()
    (report,) = load_folder(empty.store, files, now=NOW, by=BY, tell=lambda _file: None)
    (problem,) = report.problems
    assert (problem.row, problem.file, report.written) == (0, "makes.csv", False)
    assert problem.sentence().startswith("makes.csv: ")


def test_each_saved_kind_is_known_by_its_headings_alone(house: House) -> None:
    for kind in Kind:
        save_file(house.store, kind, house.folder / "file.csv", force=True)
        assert kind_by_headings(house.store, house.folder / "file.csv") is kind


def test_of_a_kind_that_lies_there_twice_one_is_left_out(empty: House) -> None:
    folder = folder_of(empty, makes=FILES["makes"])
    (folder / "makes.xlsx").write_bytes(b"")
    found = {file.path.name: file.kind for file in folder_files(empty.store, folder)}
    assert found == {"makes.csv": Kind.MAKES, "makes.xlsx": None}
