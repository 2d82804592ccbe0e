"""What `session next` says of a cask either way, of single glasses, and where too few casks are."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.next_glasses import CaskToPour, Change, Cut, Reason, Why
from analysis.next_glasses.settings import NextSettings
from analysis.next_glasses.stopping import stop_of
from panel.words.change_words import changes_lines
from panel.words.next_words import (
    AFTER_IT,
    chosen_in_short,
    chosen_words,
    no_glass_words,
    reason_sentence,
    why_heading,
)
from tests.analysis.next_glasses.test_verdict import session

FOUND = session(0.5, 0.4, stop_of(0.5, 9, NextSettings()))
ALL = replace(
    FOUND,
    glasses=(),
    chosen=("C1", "C2"),
    n_casks=2,
    cut=Cut(2, 3, within="C2", within_off=4.0, beyond=None, beyond_off=None),
)


@pytest.mark.parametrize(
    ("chances", "said"),
    [
        ((0.48, 0.71, 0.25), ".48 that it belongs to the nearest, .71 or .25 after it, by smoke; "
         "it can turn the decision."),
        ((0.20, 0.34, 0.06), ".20 that it belongs to the nearest, .34 or .06 after it, by smoke."),
        ((0.30, 0.30, 0.30), ".30 that it belongs to the nearest, .30 or .30 after it, by smoke."),
    ],
)  # fmt: skip
def test_every_cask_is_told_with_its_chance_either_way(
    chances: tuple[float, float, float], said: str
) -> None:
    now, better, worse = chances
    why = Reason(Why.DECIDES, now, better, worse, n_glasses=2, years_since=0.5, note="smoke")
    cask = CaskToPour("C1", "D1", 2, 0.1, to_draw=False, shed=None, reason=why)
    assert reason_sentence(cask, FOUND).endswith(said)
    assert AFTER_IT in why_heading(replace(FOUND, casks=(cask,)))
    assert why_heading(FOUND) == "Why each cask:", "of none is a chance told"


def change(against: str | None) -> Change:
    return Change("C1", True, 0.6, 0.3, 0.2, "A1", "smoke", against)


def test_the_points_that_a_single_glass_needs_stand_where_they_are_asked_for() -> None:
    of_casks, of_dates = (" ".join(changes_lines([change(one)])) for one in ("C2", None))
    assert "0.25 points or more past where the cut is today and the whole session" in of_casks
    assert "0.25" not in of_dates
    assert of_dates.endswith("the single glass of that session that tells most makes up alone.")


def test_fewer_casks_than_were_asked_for_are_told_as_such() -> None:
    assert chosen_words(ALL).startswith(
        "The best 2 casks today, all that may be chosen: 3 were asked for (`--best` asks for"
    )
    assert chosen_in_short(ALL).startswith("Best 2 today, all that may be chosen: 3 were asked")
    cut = Cut(2, 2, within="C2", within_off=4.0, beyond="C3", beyond_off=5.0)
    assert "asked for:" not in chosen_words(replace(ALL, cut=cut))
    assert "were asked" not in chosen_words(replace(ALL, cut=cut))


def test_where_all_are_chosen_no_sample_is_blamed_for_there_being_no_glass() -> None:
    told = no_glass_words(ALL)
    assert "all casks that may be chosen are chosen" in told
    assert "--shelf" not in told
    assert "--shelf" in no_glass_words(replace(ALL, n_casks=3)), "one may be poured, not chosen"
    assert "--shelf" in no_glass_words(replace(ALL, cut=None))
