"""`oakpanel load` of files as houses keep them, as a person and a script call it."""

from __future__ import annotations

import json

import pytest

from panel.store.engine import Store
from tests.cli.test_load_save import Capture, call, house
from tests.intake.files import House
from tests.intake.test_files_as_kept import GERMAN, JAPANESE, OF_GERMAN, OF_JAPANESE

__all__ = ["Store", "house"]


def columns(named: dict[str, str]) -> list[str]:
    return [part for each in named.items() for part in ("--column", "=".join(each))]


@pytest.mark.parametrize(
    ("text", "letters", "named"),
    [
        *((GERMAN, letters, OF_GERMAN) for letters in ("cp1252", "utf-8-sig")),
        *((JAPANESE, letters, OF_JAPANESE) for letters in ("cp932", "utf-8")),
    ],
    ids=["german-cp1252", "german-utf8", "japanese-cp932", "japanese-utf8"],
)
def test_own_headings_are_named_once(
    house: House, capsys: Capture, text: str, letters: str, named: dict[str, str]
) -> None:
    path = str(house.file(text.encode(letters)))
    assert call(house, "load", "casks", path) == 1
    told = capsys.readouterr().err
    assert "is missing among the headings" in told
    assert all(f"{heading}=OURS" in told for heading in named), "all options stand in one line"
    assert call(house, "load", "casks", path, *columns(named)) == 0
    assert "casks: 2 new" in capsys.readouterr().out
    assert call(house, "load", "casks", path, "--json") == 0
    document = json.loads(capsys.readouterr().out)
    assert document["unchanged"] == 2
    assert {each["heading"]: each["column"] for each in document["headings"]} == named
    assert {each["since"] for each in document["headings"]} == {"before"}


def test_dates_that_could_be_two_are_asked_for_by_an_option(house: House, capsys: Capture) -> None:
    path = str(house.file("assessor,joined_on\nAlder,03.09.2024\n"))
    assert call(house, "load", "assessors", path) == 1
    assert "say which with --dates day-first or --dates month-first" in capsys.readouterr().err
    assert call(house, "load", "assessors", path, "--dates", "joined_on=day-first") == 0
    assert "Dates in joined_on were read day first: as was said." in capsys.readouterr().out


def test_a_value_that_hardly_is_so_is_taken_when_somebody_is_sure(
    house: House, capsys: Capture
) -> None:
    headings = "cask,wood,size_l,filled_on,fill_number,fill_abv,fill_bulk_l"
    path = str(house.file(f"{headings}\nC1,oak,200,2014-09-03,1,6.35,190\n"))
    assert call(house, "load", "casks", path) == 1
    assert "1 of them may be so: fill_abv in row 2. If somebody looked" in capsys.readouterr().err
    assert call(house, "load", "casks", path, "--sure") == 0
    assert "To be asked" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--column", "Fass"), "is not like Fass=cask"),
        (("--column", "Fass=cask", "--column", "Fass=wood"), "is given two columns"),
        (("--dates", "year-first"), "neither day-first nor month-first"),
    ],
)
def test_what_is_told_amiss(
    house: House, capsys: Capture, options: tuple[str, ...], words: str
) -> None:
    path = str(house.file("make\nx\n"))
    assert call(house, "load", "makes", path, *options) == 2
    assert words in " ".join(capsys.readouterr().err.split())
