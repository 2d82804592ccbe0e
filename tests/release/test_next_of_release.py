"""What to nose next for a release: its parts, and the blend once it is mixed."""

from __future__ import annotations

import pytest

from panel.store.engine import Store
from tests.cli.calling import Call

LIMITS = ("--litres", "350", "--casks", "2-5", "--old-gauges", "flag")


@pytest.fixture
def spring(oakpanel: Call, gauged: None) -> None:
    assert (
        oakpanel("--by", "BL", "release", "propose", "Spring", "--target", "Fen", *LIMITS).code == 0
    )


@pytest.mark.slow
def test_the_parts_are_looked_at_and_the_blend_told_to_be_mixed(
    oakpanel: Call, spring: None, house: Store
) -> None:
    told = oakpanel("session", "next", "--vat", "Spring", "--in-bottles", "--json").document
    assert told["question"] == "vatting within tolerance"
    assert told["about"] == "Spring"
    assert told["bottles"] is not None
    parts = {
        part["cask"] for part in oakpanel("release", "show", "Spring", "--json").document["parts"]
    }
    poured = {cask["cask"] for cask in told["casks"]}
    assert poured <= parts | {None}
    unmixed = [draw for draw in told["draws"] if draw["cask"] is None]
    assert bool(unmixed) == (None in poured)
    if unmixed:
        lines = oakpanel("session", "next", "--vat", "Spring").out
        assert "The blend has to be mixed first" in lines


@pytest.mark.slow
def test_a_blend_that_is_mixed_is_at_hand(oakpanel: Call, spring: None) -> None:
    assert oakpanel("--by", "BL", "release", "bench", "Spring").code == 0
    told = oakpanel("session", "next", "--vat", "Spring", "--json").document
    assert not [draw for draw in told["draws"] if draw["cask"] is None]
    samples = {cask["sample"] for cask in told["casks"] if cask["cask"] is None}
    assert samples <= {"Spring-B1"}


@pytest.mark.slow
def test_a_release_that_is_over_asks_nothing(oakpanel: Call, spring: None) -> None:
    assert oakpanel("--by", "BL", "release", "cancel", "Spring", "--reason", "no bottles").code == 0
    asked = oakpanel("session", "next", "--vat", "Spring")
    assert asked.code == 1
    assert "it is cancelled" in asked.err
    assert oakpanel("session", "next", "--vat", "Autumn").code == 1


def test_what_would_change_about_it_is_that_of_its_next_session(
    oakpanel: Call, spring: None
) -> None:
    told = oakpanel("release", "show", "Spring", "--would-change", "--json").document
    mind = told["would_change"]
    litres = {part["cask"]: part["litres"] for part in told["parts"]}
    assert {one["cask"]: one["litres"] for one in mind["parts"]} == {**litres, None: None}
    shares = sum(one["share"] for one in mind["parts"] if one["cask"])
    assert shares + mind["rule_share"] + mind["panel_share"] == pytest.approx(1.0)
    asked = oakpanel("session", "next", "--vat", "Spring", "--json").document
    poured = {one["cask"]: one["n_glasses"] for one in asked["casks"]}
    assert {one["cask"]: one["n_glasses"] for one in mind["parts"] if one["n_glasses"]} == poured
    reason = asked["glasses"][0]["reason"]
    assert (mind["note"], mind["note_chance"]) == (reason["note"], reason["chance"])
    assert asked["vat"] == mind
    said = " ".join(oakpanel("session", "next", "--vat", "Spring").out.split())
    every = "Every line is" if mind["within"] else "Not every line is"
    assert f"{every} expected within its tolerance (" in said.partition("would be poured")[0]
