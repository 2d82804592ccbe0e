"""`oakpanel load` and `oakpanel save` as a person and a script call them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from panel.cli.main import run
from panel.store.engine import Store
from tests.houses.pins import by_file
from tests.intake.files import CASKS, MAKES, STOCK, House, table

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def house(store: Store, tmp_path: Path) -> House:
    return House(store, tmp_path)


def call(house: House, *arguments: str, by: str | None = None) -> int:
    """Run a command on the house's database; return its exit code."""
    before = ["--db", str(house.store.url.database), *(["--by", by] if by else [])]
    with pytest.raises(SystemExit) as ended:
        run([*by_file(house.store), *before, *arguments])
    return int(ended.value.code or 0)


def answer(capsys: Capture) -> dict[str, Any]:
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    return document


def test_load_says_what_it_did_and_the_second_time_that_nothing_changed(
    house: House, capsys: Capture
) -> None:
    path = str(house.file(MAKES))
    assert call(house, "load", "makes", path) == 0
    assert "makes: 2 new, 0 changed, 0 unchanged." in capsys.readouterr().out
    assert call(house, "load", "makes", path) == 0
    assert "0 new, 0 changed, 2 unchanged. Nothing to write." in capsys.readouterr().out


def test_load_in_json(house: House, capsys: Capture) -> None:
    assert call(house, "load", "makes", str(house.file(MAKES)), "--json") == 0
    document = answer(capsys)
    assert document["sha256"]
    del document["sha256"]
    assert document == {
        "format": 1,
        "kind": "makes",
        "file": "file1.csv",
        "rows": 2,
        "accepted": 2,
        "changed": 0,
        "unchanged": 0,
        "created": {},
        "problems": [],
        "more_problems": 0,
        "doubts": 0,
        "written": True,
        "questions": [],
        "heading_row": 1,
        "rows_above": 0,
        "headings": [],
        "strangers": [],
        "dates": [],
        "commas": {},
        "open_dates": {},
        "letters": None,
    }


def test_faults_in_json_and_exit_one(house: House, capsys: Capture) -> None:
    path = house.file("make,site,cereal,phenol_ppm\n[/x],a,b,much\n", "bad.csv")
    assert call(house, "load", "makes", str(path), "--json") == 1
    document = answer(capsys)
    assert document["written"] is False
    assert document["problems"] == [
        {
            "file": "bad.csv",
            "row": 2,
            "column": "phenol_ppm",
            "value": "much",
            "message": "must be a number such as 12.5",
            "heading": "",
            "cell": "",
            "doubt": False,
        }
    ]


def test_the_same_fault_in_many_rows_stands_once(house: House, capsys: Capture) -> None:
    rows = [(f"C{number}", "oak", 200, "2020-01-01", 1, 63, 190, "none") for number in range(20)]
    headings = "cask,wood,size_l,filled_on,fill_number,fill_abv,fill_bulk_l,make"
    assert call(house, "load", "casks", str(house.file(table(headings, *rows)))) == 1
    told = capsys.readouterr().err
    assert "20 faults; nothing was written" in told
    assert told.count("there is no make") == 1
    assert "(also in rows 3, 4, 5, 6, 7, 8 and 13 more)" in told


def test_check_writes_nothing(house: House, capsys: Capture) -> None:
    path = str(house.file(MAKES))
    assert call(house, "load", "makes", path, "--check") == 0
    assert "Checked only" in capsys.readouterr().out
    assert call(house, "load", "makes", path, "--check", "--json") == 0
    assert answer(capsys)["accepted"] == 2


@pytest.mark.parametrize(
    ("name", "words"), [("missing.csv", "There is no file"), (".", "is a folder")]
)
def test_files_that_are_none(house: House, capsys: Capture, name: str, words: str) -> None:
    assert call(house, "load", "makes", str(house.folder / name)) == 1
    assert words in capsys.readouterr().err


def test_a_kind_that_is_none_is_wrong_usage(house: House, capsys: Capture) -> None:
    assert call(house, "load", "barrels", "x.csv") == 2
    assert "makes" in capsys.readouterr().err


def test_once_there_is_a_lead_only_a_lead_loads(house: House, capsys: Capture) -> None:
    people = "assessor,roles\nAlder,lead\nHeron,lead\nRowan,assessor\nTeal,blender\n"
    assert call(house, "load", "assessors", str(house.file(people))) == 0
    path = str(house.file(MAKES))
    assert call(house, "load", "makes", path) == 1
    assert "--by CODE" in capsys.readouterr().err
    assert call(house, "load", "makes", path, by="Rowan") == 1
    assert call(house, "load", "makes", path, by="Teal") == 1
    assert call(house, "load", "makes", path, by="Heron") == 0
    words = "descriptor,stage,low_words,high_words\nplum stone,nose,a,b\n"
    assert call(house, "load", "lexicon", str(house.file(words)), by="Heron") == 0
    target = str(house.file("target,descriptor,aim,tolerance\nT,plum stone,5,5\n"))
    assert call(house, "load", "targets", target, by="Teal") == 0


@pytest.mark.slow
def test_save_and_load_again(house: House, capsys: Capture) -> None:
    for kind, content in STOCK:
        assert call(house, "load", kind.value, str(house.file(content))) == 0
    for ending in ("csv", "xlsx"):
        path = house.folder / f"out.{ending}"
        assert call(house, "save", "casks", str(path), "--json") == 0
        capsys.readouterr()
        assert call(house, "load", "casks", str(path), "--json") == 0
        assert answer(capsys)["unchanged"] == CASKS.count("\n") - 1


def test_save_does_not_replace_unasked(house: House, capsys: Capture) -> None:
    path = house.file("mine", "mine.csv")
    assert call(house, "save", "makes", str(path)) == 1
    assert "there already" in capsys.readouterr().err
    assert call(house, "save", "makes", str(path), "--template", "--force") == 0
    assert path.read_text().splitlines()[-1] == "make,site,cereal,phenol_ppm,campaign,note"


def test_a_template_wants_no_database(tmp_path: Path) -> None:
    nowhere, path = tmp_path / "none.sqlite", tmp_path / "draws.csv"
    with pytest.raises(SystemExit) as ended:
        run(["--db", str(nowhere), "save", "draws", str(path), "--template"])
    assert (ended.value.code, nowhere.exists()) == (0, False)
    assert path.read_text().splitlines()[-1].startswith("sample,kind,filling")


def test_names_are_saved_by_a_lead_only(house: House, capsys: Capture) -> None:
    people = "assessor,roles,name\nAlder,lead,A Person\nRowan,assessor,B Person\n"
    assert call(house, "load", "assessors", str(house.file(people))) == 0
    path = house.folder / "people.csv"
    assert call(house, "save", "assessors", str(path), "--names", by="Rowan") == 1
    assert not path.exists()
    assert call(house, "save", "assessors", str(path), "--names", by="Alder") == 0
    assert "B Person" in path.read_text()
    assert call(house, "save", "casks", str(path), "--names") == 2
    assert call(house, "save", "casks", str(path), "--wide") == 2
    assert "Person" not in capsys.readouterr().err


def test_scores_with_create_list_what_was_made(house: House, capsys: Capture) -> None:
    text = "session,assessor,sample,[/x],smoke\nN1,Alder,S1,1,2\nN1,Rowan,S1,3,\n"
    path = str(house.file(text))
    assert call(house, "load", "scores", path) == 1
    told = capsys.readouterr().err
    assert "--create makes it" in told
    assert call(house, "load", "scores", path, "--create", "--json") == 0
    assert answer(capsys)["created"] == {
        "sessions": ["N1"],
        "assessors": ["Alder", "Rowan"],
        "samples": ["S1"],
        "descriptors": ["[/x]", "smoke"],
    }
    wide = house.folder / "wide.csv"
    assert call(house, "save", "scores", str(wide), "--wide", "--session", "N1") == 0
    assert wide.read_text().splitlines()[0].endswith(",[/x],smoke")
    assert call(house, "save", "scores", str(wide), "--session", "N2", "--force") == 1
    assert "no session 'N2'" in capsys.readouterr().err


def test_a_long_list_of_what_was_made_is_cut_short(house: House, capsys: Capture) -> None:
    rows = [("N1", "Alder", f"S{i:02d}", 5) for i in range(15)]
    path = str(house.file(table("session,assessor,sample,smoke", *rows)))
    assert call(house, "load", "scores", path, "--create") == 0
    listed = next(
        line for line in capsys.readouterr().out.splitlines() if line.startswith("New samples")
    )
    assert listed.startswith("New samples: S00, S01")
    assert listed.endswith("S11 and 3 more")
