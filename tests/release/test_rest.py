"""The rest of a cask is one figure, wherever it is told: that of the day, not of an old gauge."""

from __future__ import annotations

import pytest

from tests.cli.calling import Call


def test_the_rest_is_what_the_cask_holds_on_that_day(oakpanel: Call) -> None:
    taken = ("--take", "C8=60", "--take", "C10=60", "--part", "--old-gauges", "flag")
    said = oakpanel("release", "propose", "Spring", "--target", "Fen", *taken, "--json")
    assert said.code == 0, said.err
    gave = ("--cask", "C8=60@59", "--cask", "C10=60@59")
    found = oakpanel("release", "disgorge", "Spring", *gave, "--json").document
    for cask in found["casks"]:
        of_the_day = oakpanel("cask", cask["cask"], "--json").document["figures"]["litres"]
        assert cask["held_litres"] - 60.0 > of_the_day + 1.0, "its gauge is years old"
        assert cask["rest_litres"] == pytest.approx(of_the_day, abs=0.06)


@pytest.mark.slow
def test_a_release_says_that_it_was_disgorged(oakpanel: Call) -> None:
    taken = ("--take", "C8=60", "--take", "C10=60", "--part", "--old-gauges", "flag")
    assert oakpanel("release", "propose", "Spring", "--target", "Fen", *taken).code == 0
    assert "disgorged on" not in oakpanel("release", "show", "Spring").out
    gave = ("--cask", "C8=60@59", "--cask", "C10=60@59")
    assert oakpanel("release", "disgorge", "Spring", *gave).code == 0
    said = " ".join(oakpanel("release", "show", "Spring").out.split())
    assert "disgorged on 2026-03-14 and not signed yet." in said
