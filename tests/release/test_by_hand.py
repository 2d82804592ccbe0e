"""Litres by hand and from a plan are held to what was asked, to nothing else and to no less."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.calling import Call
from tests.release.signing import UNNOSED, besides

pytestmark = pytest.mark.usefixtures("gauged")
LIMITS = ("--litres", "350", "--casks", "2-5", "--old-gauges", "flag")
HAND = ("--target", "Fen", "--take", "C8=100", "--take", "C9=15", "--old-gauges", "flag")
POTENT = ("--exponent", "ember=0.4")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("--litres", "350"), "It comes to 256.5 L at bottling strength, less than the 350.0"),
        (("--bottles", "480"), "fewer than the 480 asked for"),
        (("--litres", "256.6"), None),
        (("--litres", "257.3"), "less than the 257.3"),
    ],
)
def test_a_limit_in_litres_is_like_one_in_bottles(
    oakpanel: Call, asked: tuple[str, ...], said: str | None
) -> None:
    taken = ("--target", "Fen", "--take", "C8=100", "--take", "C9=100", "--old-gauges", "flag")
    assert oakpanel("release", "propose", "Spring", *taken, *asked).code == 0
    gave = ("--cask", "C8=100@59", "--cask", "C9=100@59")
    found = oakpanel("release", "disgorge", "Spring", *gave, "--json").document
    assert [each["limit"] for each in found["broken_limits"]] == (["quantity"] if said else [])
    shown = oakpanel("release", "show", "Spring", "--json").document
    assert besides(shown["against"]) == (["quantity"] if said else [])
    assert (said or "") in oakpanel("--by", "LD", "release", "sign", "Spring").err
    assert oakpanel("--by", "LD", "release", "sign", "Spring", *UNNOSED).code == 0


def test_what_nobody_asked_is_not_said_to_be_broken(oakpanel: Call) -> None:
    found = oakpanel("release", "propose", "Spring", *HAND, "--json").document
    assert found["checks"] == []


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("--whole",), "It is parts of casks: cask C8, C9 would not be empty."),
        (("--part", "--smallest-draw", "20"), "Drawn less than 20 L: cask C9."),
        (("--bottles", "100"), "% over 100 bottles of 700 mL."),
        (("--litres", "400"), "short of 400 litres."),
    ],
)
def test_what_was_asked_is(oakpanel: Call, asked: tuple[str, ...], said: str) -> None:
    found = oakpanel("release", "propose", "Spring", *HAND, *asked, "--json").document
    assert [each for each in found["checks"] if each.endswith(said)]


@pytest.mark.slow
def test_exponents_count_for_litres_by_hand(oakpanel: Call) -> None:
    apart = ("--target", "Fen", "--take", "C2=50", "--take", "C9=100", "--old-gauges", "flag")

    def ember(document: Any) -> Any:
        return next(line for line in document["prediction"] if line["descriptor"] == "ember")

    plain = oakpanel("release", "propose", "Plain", *apart, "--json").document["planned"]
    oakpanel("release", "cancel", "Plain", "--reason", "again")
    potent = oakpanel("release", "propose", "Potent", *apart, *POTENT, "--json").document["planned"]
    assert (plain["exponents"], potent["exponents"]) == ({}, {"ember": 0.4})
    assert ember(potent)["exponent"] == 0.4
    assert ember(potent)["estimate"] > ember(plain)["estimate"] + 0.5
    gave = ("--cask", "C2=50@60", "--cask", "C9=100@60")
    found = oakpanel("release", "disgorge", "Potent", *gave, "--json").document
    assert ember(found)["exponent"] == 0.4
    assert ember(found)["estimate"] == pytest.approx(ember(potent)["estimate"], abs=0.3)


@pytest.fixture
def plan(oakpanel: Call, tmp_path: Path) -> Path:
    path = tmp_path / "plan.json"
    path.write_text(oakpanel("vat", "Fen", *LIMITS, *POTENT, "--json").out, encoding="utf-8")
    return path


@pytest.mark.slow
def test_exponents_of_a_plan_count(oakpanel: Call, plan: Path) -> None:
    kept = json.loads(plan.read_text(encoding="utf-8"))
    said = oakpanel("release", "propose", "Spring", "--plan", str(plan), "--json").document
    assert said["planned"]["exponents"] == {"ember": 0.4}
    assert [line["estimate"] for line in said["planned"]["prediction"]] == pytest.approx(
        [line["estimate"] for line in kept["prediction"]]
    )


@pytest.mark.slow
def test_another_answer_of_a_plan_is_taken(oakpanel: Call, plan: Path) -> None:
    answers = json.loads(plan.read_text(encoding="utf-8"))["answers"]
    assert len(answers) > 1
    said = oakpanel("release", "propose", "Spring", "--plan", str(plan), "--answer", "2", "--json")
    assert {part["cask"] for part in said.document["parts"]} == {
        part["cask"] for part in answers[1]["parts"]
    }
    none = oakpanel("release", "propose", "X", "--plan", str(plan), "--answer", "5")
    if len(answers) < 5:
        assert "there is no number 5" in none.err


@pytest.mark.slow
def test_options_that_a_plan_has_settled_are_refused_by_name(oakpanel: Call, plan: Path) -> None:
    more = ("--abv", "43", "--age", "12", "--target", "Fen", *POTENT, "--take", "C1=3", "--part")
    refused = oakpanel("release", "propose", "Spring", "--plan", str(plan), *more)
    assert refused.code == 2
    for option in ("--abv", "--age", "--target", "--exponent", "--take", "--whole"):
        assert option in refused.err
    assert oakpanel("release", "list", "--json").document["releases"] == []
    fits = ("--reason", "as agreed", "--chill-filtered")
    assert oakpanel("release", "propose", "Spring", "--plan", str(plan), *fits).code == 0


def test_an_answer_does_not_go_with_litres_by_hand(oakpanel: Call) -> None:
    assert "leave out --answer" in oakpanel("release", "propose", "S", *HAND, "--answer", "2").err


def test_the_list_tells_the_bottles_of_what_the_casks_gave(oakpanel: Call) -> None:
    oakpanel("release", "propose", "Spring", *HAND)
    gave = ("--cask", "C8=30@60", "--cask", "C9=40@60")
    found = oakpanel("release", "disgorge", "Spring", *gave, "--json").document
    (line,) = oakpanel("release", "list", "--json").document["releases"]
    assert found["bottles"] is not None
    assert line["bottles"] == found["bottles"]
