"""Rule sets that a house edits, and the register of samples."""

from __future__ import annotations

import pytest

from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.rules import not_looked_at
from tests.cli.calling import Call

LIMITS = ("--litres", "350", "--casks", "2-5", "--old-gauges", "flag", "--quick")


def test_other_countries_are_off_and_every_rule_cites_its_law(oakpanel: Call) -> None:
    sets = oakpanel("rules", "list", "--json").document["rule_sets"]
    assert [each["name"] for each in sets if each["in_force"]] == ["Scotch whisky"]
    rules = oakpanel("rules", "show", "--json").document["rules"]
    assert {rule["rule"]: rule["value"] for rule in rules} == {
        # Scotch Whisky Regulations 2009 (SI 2009/2890): 3 years, 40 % vol, casks to 700 L.
        "minimum age": 3,
        "minimum strength": 40,
        "largest cask": 700,
        "age statement": 0,
    }
    assert all("2009" in rule["cites"] for rule in rules)


@pytest.mark.usefixtures("gauged")
def test_a_rule_of_the_house_bars_casks(oakpanel: Call) -> None:
    assert "Say which law" in oakpanel("rules", "set", "County", "minimum age", "13").err
    oakpanel("rules", "set", "County", "minimum age", "13", "--cites", "Bylaw 7")
    assert "below the legal age" not in oakpanel("vat", "Fen", *LIMITS, "--json").document["barred"]
    oakpanel("rules", "set", "County", "on")
    found = oakpanel("vat", "Fen", *LIMITS, "--json").document
    assert found["barred"]["below the legal age"] > 0
    assert any("County" in rule for rule in found["rules_in_force"])
    oakpanel("rules", "set", "County", "minimum age", "none", "--cites", "repealed")
    assert "below the legal age" not in oakpanel("vat", "Fen", *LIMITS, "--json").document["barred"]


@pytest.mark.slow
def test_with_no_rules_it_says_so_and_defers(oakpanel: Call) -> None:
    oakpanel("rules", "set", "Scotch whisky", "off")
    found = oakpanel("vat", "Fen", *LIMITS, "--abv", "38", "--json").document
    assert any("No rule set is in force" in words for words in found["checks"])
    assert any("excise officer" in words for words in found["checks"])


def test_large_casks_are_left_out_by_law(oakpanel: Call) -> None:
    oakpanel("rules", "set", "County", "largest cask", "150", "--cites", "Bylaw 8")
    oakpanel("rules", "set", "County", "on")
    said = oakpanel("vat", "Fen", *LIMITS)
    assert said.code == 1


@pytest.mark.parametrize(
    ("asked", "code"),
    [(("Nix", "on"), 1), (("Scotch whisky", "taste", "3"), 2), (("X", "minimum age", "old"), 2)],
)
def test_rules_refused_in_words(oakpanel: Call, asked: tuple[str, ...], code: int) -> None:
    assert oakpanel("rules", "set", *asked).code == code


def test_the_register_adds_up_pure_alcohol(oakpanel: Call) -> None:
    found = oakpanel("register", "--json").document
    # Ten draws of 200 mL at 58 % vol: 10 x 0.2 x 0.58 litres.
    assert found["lpa"] == pytest.approx(10 * 0.2 * 0.58)
    assert found["lines_without_reason_or_fate"] == 10
    oakpanel("register", "tell", "D-C1", "--reason", "yearly nosing", "--fate", "destroyed")
    lines = {x["sample"]: x for x in oakpanel("register", "--json").document["lines"]}
    assert (lines["D-C1"]["reason"], lines["D-C1"]["fate"]) == ("yearly nosing", "destroyed")
    assert oakpanel("register", "--from", "2026-01-01", "--json").document["lines"] == []
    assert "excise officer" in oakpanel("register").err


def test_the_register_refuses_in_words(oakpanel: Call) -> None:
    assert "no sample" in oakpanel("register", "tell", "nix", "--fate", "x").err
    assert "Say why" in oakpanel("register", "tell", "D-C1").err


def test_a_set_says_what_it_does_not_look_at(oakpanel: Call) -> None:
    shown = oakpanel("rules", "show", "--json").document["not_looked_at"]
    assert any("oak" in each for each in shown["Scotch whisky"])
    straight = oakpanel("rules", "show", "United States straight whisky").out
    assert "not looked at: that the containers are of oak, new and charred" in straight
    assert "62.5 % vol" in straight
    checks = oakpanel("vat", "Fen", *LIMITS, "--json").document["checks"]
    assert any(each.startswith("Not looked at: that the casks are of oak") for each in checks)


def test_oak_is_not_said_to_be_unlooked_at_where_it_was_told() -> None:
    """What else the sets ask stays said, in the same order."""
    names = ["Scotch whisky", "United States straight whisky"]
    before, after = not_looked_at(names), not_looked_at(names, oak_told=True)
    assert sum("oak" in each for each in before) == 2
    assert not any("oak" in each for each in after)
    assert "that the whisky matured in Scotland" in after
    assert "that the containers are new and charred" in after
    assert [each for each in before if "oak" not in each] == [
        each for each in after if each in before
    ]


@pytest.mark.slow
def test_a_part_below_the_legal_strength_is_named(oakpanel: Call, house: Store) -> None:
    with house.write() as db:
        db.query(Filling).filter_by(label="C9/1").one().fill_abv = 39.5
    found = oakpanel("vat", "Fen", *LIMITS, "--with", "C9", "--abv", "vat", "--json").document
    part = next(each for each in found["parts"] if each["cask"] == "C9")
    assert "39.5 % vol at the last gauge, below the legal 40 %" in part["note"]
