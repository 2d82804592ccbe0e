"""The rules for own words at the glass, without a database and without a screen."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from panel.errors import BoothError, WrongGlass
from panel.session import naming, scoring
from panel.store.booth_tray import Glass, KeptScore, Tray, WordLimits
from tests.conftest import FIXED_NOW
from tests.session.test_scoring import done, glass, tray


def own(*glasses: Glass, words: int = 2) -> Tray:
    whole = tray(*glasses)
    return replace(whole, own=WordLimits(8, frozenset()), lines=whole.lines[:words])


SECOND: dict[str, Any] = {"flight": 2}


def test_words_come_from_the_first_flight() -> None:
    whole = own(glass(0, "538"), glass(2, "382", **SECOND), glass(1, "417"))
    assert [one.code for one in naming.first_flight(whole)] == ["538", "417"]
    late = own(glass(0, "538", flight=2), glass(1, "417", flight=3))
    assert [one.code for one in naming.first_flight(late)] == ["538"]


@pytest.mark.parametrize(
    ("glasses", "open_"),
    [
        ((glass(0, "538"), glass(1, "417", **SECOND)), True),
        ((done(0, "538"), glass(1, "417"), glass(2, "382", **SECOND)), True),
        ((done(0, "538"), done(1, "417"), glass(2, "382", **SECOND)), False),
        ((done(0, "538"), glass(1, "417"), done(2, "382", **SECOND)), False),
        ((done(0, "538"), done(1, "417")), False),
        ((done(0, "538"), glass(1, "417", withdrawn=True)), False),
        ((done(0, "538", finished_at=None), done(1, "417")), True),
    ],
    ids=["none", "running", "over", "later begun", "all done", "rest taken out", "taken again"],
)
def test_a_word_comes_in_as_long_as_the_first_flight_runs(
    glasses: tuple[Glass, ...], open_: bool
) -> None:
    whole = own(*glasses)
    assert naming.may_still_name(whole) is open_
    if not open_:
        with pytest.raises(BoothError, match="first flight is over"):
            naming.check_naming(whole)


def test_no_glass_is_taken_without_a_word() -> None:
    whole = own(glass(0, "538"), words=0)
    assert scoring.needs_words(whole)
    with pytest.raises(WrongGlass, match="Name at least one word"):
        scoring.may_take(whole, "538", FIXED_NOW)
    assert scoring.may_take(own(glass(0, "538")), "538", FIXED_NOW).code == "538"
    assert not scoring.needs_words(replace(tray(glass(0, "538")), lines=()))


def test_the_only_word_stays_once_a_glass_was_taken() -> None:
    begun = own(done(0, "538", finished_at=None), words=1)
    with pytest.raises(BoothError, match="your only word"):
        naming.check_taking_back(begun, begun.lines[0].version_id)
    naming.check_taking_back(own(glass(0, "538"), words=1), 0)
    naming.check_taking_back(own(done(0, "538"), words=2), 0)


def test_what_a_late_word_leaves_blank_is_known() -> None:
    scored = done(0, "538", scores={0: KeptScore(5, FIXED_NOW)})
    whole = own(scored, done(1, "417"), glass(2, "382"))
    assert [one.code for one in naming.blank_glasses(whole, 0)] == ["417"]
