"""`oakpanel influences`, asked of the invented distillery, whose truth is in its seed script."""

from __future__ import annotations

from typing import Any

import pytest

from panel.cli.main import run
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
    return invented_house(tmp_path_factory.mktemp("influences"))


@pytest.fixture
def ask(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, database: str) -> Ask:
    remember_profile(monkeypatch)
    return asker("influences", database, capsys, ANSWERS)


@pytest.mark.slow
def test_the_document_has_the_keys_that_scripts_lean_on(ask: Ask) -> None:
    found = document(ask)
    keys = {"descriptor", "factor", "level", "estimate", "low", "high", "note"}
    assert all(keys <= set(part) for part in found["effects"])
    assert all(part["note"] for part in found["effects"] if part["estimate"] is None)
    assert len({part["descriptor"] for part in found["effects"]}) >= 10
    assert {"q2_cask", "q2_batch", "ceiling", "sentence"} <= set(found["notes"][0])
    assert 1 <= found["map"]["n_components"] <= 3
    assert found["predictions"]


def one(found: dict[str, Any], descriptor: str, factor: str, level: str) -> dict[str, Any]:
    some = [
        part
        for part in found["effects"]
        if (part["descriptor"], part["factor"]) == (descriptor, factor) and level in part["level"]
    ]
    assert len(some) == 1, some
    found_one: dict[str, Any] = some[0]
    return found_one


def test_what_was_planted_is_found(ask: Ask) -> None:
    """Sherry wood gives less custard and more plum, later fills less, smoke comes of peat."""
    found = document(ask)
    assert one(found, "custard skin", "wood", "European oak butt")["high"] < -8
    assert one(found, "plum stone", "wood", "European oak butt")["low"] > 10
    fills = [one(found, "custard skin", "fill", f"fill {n}")["estimate"] for n in (2, 3, 4)]
    assert 0 > fills[0] > fills[1] > fills[2]
    smoke = one(found, "hearth smoke", "phenols", "1 to 40 ppm")
    assert smoke["low"] > 35
    assert one(found, "warm flour", "age", "years")["high"] < -10
    assert one(found, "custard skin", "warehouse", "Osier Shed")["low"] < 0
    assert one(found, "custard skin", "warehouse", "Osier Shed")["high"] > 0


@pytest.mark.slow
def test_previous_contents_cannot_be_told_from_wood(ask: Ask) -> None:
    part = one(document(ask), "plum stone", "previous", "sherry")
    assert part["estimate"] is None
    assert part["note"].startswith("cannot be separated from wood: nose a cask that held sherry")


@pytest.mark.slow
def test_all_notes_in_words_fit_eighty_columns(ask: Ask) -> None:
    lines = ask().splitlines()
    assert max(map(len, lines)) <= 80
    text = " ".join(lines)
    assert "custard skin moves with American oak barrel, fill 4 (-" in text
    assert "cannot be separated from wood" in text
    assert "spirit that lay in more than one wood" in text


def test_one_note_in_words(ask: Ask) -> None:
    lines = ask("custard skin").splitlines()
    assert max(map(len, lines)) <= 80
    assert lines[0].startswith("custard skin moves with")
    assert "Wood, against American oak barrel:" in lines
    assert any(line.split()[:2] == ["fill", "3"] and "casks" in line for line in lines)


@pytest.mark.slow
def test_one_note_as_a_document_is_that_note_of_all(ask: Ask) -> None:
    """The same fit, whoever asks: a note alone equals that note among all."""
    alone, among = document(ask, "custard skin"), document(ask)
    mine = [part for part in among["effects"] if part["descriptor"] == "custard skin"]
    assert alone["effects"] == mine


def test_who_asks_for_the_map_is_told_what_took_its_place(ask: Ask) -> None:
    said = ask("--map", code=2)
    assert "profile --picture -" in said


def test_a_note_that_is_not_there_is_refused_with_the_nearest(ask: Ask) -> None:
    said = ask("custard skn", code=1)
    assert said.startswith("No session has scored 'custard skn'. The nearest are custard skin")


def test_no_scores_yet_are_said(
    tmp_path: pytest.TempPathFactory, capsys: pytest.CaptureFixture[str]
) -> None:
    from panel.store.opening import make_database

    path = f"{tmp_path}/empty.sqlite"
    make_database(path).close()
    with pytest.raises(SystemExit) as stopped:
        run(["--db", path, "influences"])
    assert stopped.value.code == 1
    said = capsys.readouterr().err
    assert "nothing was nosed yet, or no session of it was revealed" in said
    assert "Nose at least two samples in one session, and reveal it." in said
    assert "of these" not in said
