"""`oakpanel ageing`, asked of the invented distillery."""

from __future__ import annotations

from datetime import date

import pytest

from tests.houses.invented import (
    Ask,
    asker,
    document,
    invented_house,
    remember_profile,
)

ANSWERS: dict[tuple[str, ...], str] = {}


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> str:
    return invented_house(tmp_path_factory.mktemp("ageing"))


@pytest.fixture
def ask(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, database: str) -> Ask:
    remember_profile(monkeypatch)
    return asker("ageing", database, capsys, ANSWERS)


@pytest.mark.slow
def test_styles_in_words_fit_eighty_columns(ask: Ask) -> None:
    lines = ask().splitlines()
    assert max(map(len, lines)) <= 80
    text = " ".join(lines)
    assert "Ember 08-12, American oak barrel, fill 2: 5 casks, 3 drawn again" in text
    assert "drawn again, which agree" in text
    assert "Not told: cask SW2201 (spirit that lay in more than one wood)." in text


@pytest.mark.slow
def test_what_is_held_against_a_cask_asked_for_stands_with_it(ask: Ask) -> None:
    held = document(ask, "--cask", "SW1903", "--target", "Lantern")["held_against"]
    assert "struck match" in held["SW1903"]
    words = " ".join(ask("--cask", "SW1903", "--target", "Lantern").split())
    assert "! SW1903: on hold" in words


@pytest.mark.slow
def test_curves_and_windows_are_in_the_document(ask: Ask) -> None:
    found = document(ask, "--target", "Lantern")
    assert {"curves", "windows", "evidence", "level", "as_of"} <= set(found)
    keys = {"cask", "target", "best_on", "best_chance", "opens", "closes", "reason"}
    assert all(keys <= set(window) for window in found["windows"])
    last = date(2029, 11, 20)
    for window in found["windows"]:
        assert window["opens"] or window["reason"]
        if window["best_on"]:
            assert date.fromisoformat(window["best_on"]) <= last
    assert {"points", "evidence", "n_again", "style"} <= set(found["curves"][0])


def test_windows_in_words(ask: Ask) -> None:
    lines = ask("--target", "Lantern").splitlines()
    assert max(map(len, lines)) <= 80
    assert "meet Lantern with a chance of half or more" in lines[0]
    assert any(line.startswith("SW1510") for line in lines)
    assert "SW1408 (reserved as a whole)" in " ".join(lines)


@pytest.mark.slow
def test_a_cask_with_its_notes_picture_and_targets(ask: Ask) -> None:
    text = ask("--cask", "SW1510")
    lines = text.splitlines()
    assert max(map(len, lines)) <= 80
    assert any(line.startswith("SW1510 (Ember 13-17, American oak hogshead") for line in lines)
    assert any("meets Lantern" in line for line in lines)
    assert "○ a draw of it" in text
    assert any("━" in line and "░" in line for line in lines)


def test_one_note_of_one_cask(ask: Ask) -> None:
    found = document(ask, "--cask", "SW1510", "--descriptor", "custard skin")
    assert [curve["descriptor"] for curve in found["curves"]] == ["custard skin"]
    points = found["curves"][0]["points"]
    assert points[-1]["on"] == "2029-11-20"
    assert {point["mark"] for point in points} <= {"nosed", "reckoned", "beyond"}
    assert len(found["curves"][0]["readings"]) == 2


@pytest.mark.slow
def test_a_style_never_nosed_enough_is_drawn_when_asked_for(ask: Ask) -> None:
    lines = ask("--make", "turf", "--wood", "new toasted").splitlines()
    assert max(map(len, lines)) <= 80
    assert any("rests on 1 cask of this style" in line for line in lines)


@pytest.mark.slow
def test_the_growth_of_a_barrel_is_the_planted_one(ask: Ask) -> None:
    """First-fill barrels: custard skin grows as 4 + 46 (1 - exp(-age / 8))."""
    from math import expm1

    found = document(ask, "--wood", "American oak barrel", "--descriptor", "custard skin")
    off = [
        point["estimate"] - (4 - 46 * expm1(-point["age_years"] / 8))
        for curve in found["curves"]
        if curve["fill_number"] == 1
        for point in curve["points"]
        if point["mark"] == "nosed"
    ]
    assert off
    assert max(map(abs, off)) < 6.0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--cask", "SW99"), "There is no cask 'SW99' in stock."),
        (("--wood", "chestnut"), "There is no wood 'chestnut'."),
        (("--target", "Lantrn"), "There is no target 'Lantrn'."),
        (("--descriptor", "custard skn"), "No session has scored 'custard skn'."),
    ],
)
def test_a_name_that_is_not_there_is_refused(ask: Ask, words: tuple[str, ...], said: str) -> None:
    assert ask(*words, code=1).startswith(said)
