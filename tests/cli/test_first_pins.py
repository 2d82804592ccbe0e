"""How a house comes by its first PIN, and by one when no lead knows theirs any more."""

from __future__ import annotations

from pathlib import Path

import click
import pytest

from panel.kinds import Role
from panel.store.engine import Store
from panel.store.people import Person
from tests.cli.calling import Call, caller
from tests.cli.proving import entries, house, oakpanel, typed
from tests.houses.parts import person
from tests.houses.pins import PIN

__all__ = ["house", "oakpanel", "typed"]


def test_the_first_lead_is_asked_for_a_new_pin_twice(
    oakpanel: Call, house: Store, typed: list[str]
) -> None:
    without_pins(house)
    typed += ["8642", "8642"]
    assert oakpanel("people", "role", "W1", "+pourer").code == 0
    typed.append("8642")
    assert oakpanel("people", "role", "W1", "-pourer").code == 0
    assert typed == []


def test_a_lead_without_a_pin_gets_it_from_one_who_has(
    oakpanel: Call, house: Store, typed: list[str]
) -> None:
    with house.write() as db:
        db.add(person("L2", Role.LEAD))
    said = oakpanel("--by", "L2", "people", "role", "W1", "+pourer")
    assert "L2 has no PIN yet; a lead gives one: `oakpanel people pin L2`." in said.err
    said = oakpanel("--by", "L2", "people", "pin", "L2")
    assert "L2 has no PIN yet" in said.err
    assert typed == []


def without_pins(store: Store) -> None:
    with store.write() as db:
        for each in db.query(Person):
            each.pin_hash = None


def test_who_owns_the_file_gives_a_pin_and_the_log_tells_it(
    oakpanel: Call, house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    said = oakpanel("people", "pin", "LD", "--recover", typed="8642\n")
    assert said.code == 0
    assert "the desk tells it for 30 days" in said.err
    assert '"action":"PIN recovered"' in entries(house)[-1]
    assert oakpanel("--pin-file", "-", "people", "export", "A1", typed="8642").code == 0
    monkeypatch.setattr("os.geteuid", lambda: 54321)
    before = entries(house)
    said = oakpanel("people", "pin", "LD", "--recover", typed="9753\n")
    assert "Only who owns the database" in said.err
    assert entries(house) == before


def test_a_new_house_gets_its_first_lead_with_a_pin(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def made(name: str, *words: str, typed: str = "") -> Call:
        call = caller(capsys, monkeypatch, "--db", str(tmp_path / name))
        said = call(*words, typed=typed)
        assert said.code == 0, said.err
        told.append(said.err)
        return call

    told: list[str] = []
    call = made("one", "--pin-file", "-", "db", "init", "--lead", "LD", typed=f"{PIN}\n")
    assert call("--pin-file", "-", "people", "add", "A1", typed=PIN).code == 0
    made("two", "db", "init", "--lead", "LD")
    assert "LD leads and has no PIN yet" in told[-1]
    made("three", "db", "init")
    assert "Nobody leads it yet" in told[-1]
    four = caller(capsys, monkeypatch, "--db", str(tmp_path / "four"))
    assert four("--pin-file", "-", "db", "init", "--lead", "LD", typed="1234").code == 1
    assert not (tmp_path / "four").exists()


def test_a_new_house_asks_at_a_terminal(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    typed: list[str],
) -> None:
    typed += [PIN, PIN]
    monkeypatch.setattr(click.termui, "visible_prompt_func", lambda _prompt: "LD")
    call = caller(capsys, monkeypatch, "--db", str(tmp_path / "new"))
    assert call("db", "init").code == 0
    lines = call("people", "list", "--json").document["people"]
    assert [(line["code"], line["roles"], line["has_pin"]) for line in lines] == [
        ("LD", ["lead"], True)
    ]
