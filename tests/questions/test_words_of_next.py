"""What `session next` says of a cask either way, of single glasses, and where too few casks are."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.next_glasses import CaskToPour, Change, Cut, NextSession, Reason, Why
from analysis.next_glasses.settings import NextSettings
from analysis.next_glasses.stopping import stop_of
from analysis.next_glasses.verdict import cost_sentence, stop_sentence
from analysis.target import Match
from panel.questions.best_casks import BestCasks, BestTold
from panel.questions.next_session import NextAnswer
from panel.questions.stands_on import StandsOn
from panel.questions.targets import AimLine, TargetRecord
from panel.report.target import target_page
from panel.words.best_words import best_words
from panel.words.change_words import changes_lines
from panel.words.next_words import (
    chosen_in_short,
    chosen_words,
    no_glass_words,
    reason_sentence,
    session_words,
    why_heading,
)
from tests.analysis.next_glasses.test_verdict import session

DAY = date(2026, 3, 14)
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
    one = replace(FOUND, casks=(cask,))
    assert why_heading(one) == (
        "Why each cask: (after it: if the session finds the cask better than it is held today, or "
        "worse)"
    )
    assert "than it is held on 2026-03-14, or worse)" in why_heading(one, DAY)
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


def test_an_answer_of_a_day_says_that_day() -> None:
    little = session(0.02, 0.019, stop_of(0.02, 2, NextSettings()))
    said = [
        *(cost_sentence(FOUND, DAY), stop_sentence(little, DAY), chosen_words(ALL, DAY)),
        *changes_lines([change("C2")], asked=DAY),
        *best_words(BestTold(BestCasks(2, FOUND)), DAY),
    ]
    assert "today" not in " ".join(said)
    assert said[0].startswith("Deciding on 2026-03-14 would cost 0.50 points")
    assert "By the reckoning of 2026-03-14 this session saves next to nothing" in said[1]
    assert said[2].startswith("The best 2 casks on 2026-03-14")
    assert "Deciding on 2026-03-14 would cost 0.50 points" in said[-1]
    bottled = BestTold(BestCasks(2, ALL, bottling_on=date(2027, 4, 1)))
    assert best_words(bottled, DAY)[0].startswith("The best 2 casks on 2027-04-01")


def poured(*casks: str | None) -> NextSession:
    why = Reason(Why.BLEND, 0.4, 0.6, 0.2, n_glasses=0, years_since=None, note="smoke")
    return replace(
        FOUND,
        casks=tuple(
            CaskToPour(cask, "D1", 2, 0.1, to_draw=False, shed=None, reason=why) for cask in casks
        ),
    )


@pytest.mark.parametrize(
    ("casks", "of", "why"),
    [
        (("C1",), "1 glass of 1 cask for 2 assessors", "Why each cask: (after it: if the"),
        ((None,), "1 glass of the bench blend for", "Why the bench blend: (after it: if the "),
        ((None, "C1", "C2"), "of 2 casks and the bench blend for", "Why the bench blend and each "),
    ],
)
def test_a_list_is_headed_by_what_is_poured(
    casks: tuple[str | None, ...], of: str, why: str
) -> None:
    found = poured(*casks)
    answer = NextAnswer(found, DAY, ("A1", "A2"), 6, (), 7, DAY, 0.0)
    assert of in session_words(answer)
    assert why_heading(found).startswith(why)
    assert ("finds the bench blend better" in why_heading(found)) is (casks == (None,))


@given(loss=st.floats(0.0, 5.0), share=st.floats(0.0, 1.0))
def test_what_is_lost_saved_and_left_adds_up_as_it_is_shown(loss: float, share: float) -> None:
    found = session(loss, loss * (1.0 - share), stop_of(loss, 9, NextSettings()))
    shown = re.findall(r"below 0\.01|[0-9]+\.[0-9]{2}", cost_sentence(found))
    if "expected to save below" in cost_sentence(found):
        assert "to leave" not in cost_sentence(found)
        assert loss * share < 0.01 + 1e-9
        return
    now, saves, left = (
        0 if each.startswith("below") else round(100 * float(each)) for each in shown
    )
    assert now - saves == left
    assert abs(left / 100 - loss * (1.0 - share)) <= 0.0101


@pytest.mark.parametrize(("loss", "after"), [(0.019, 0.0091), (0.504, 0.495), (0.009, 0.0001)])
def test_nothing_is_said_to_be_left_where_what_is_saved_is_less_than_is_shown(
    loss: float, after: float
) -> None:
    """Of the first no more than 0.0091 is left, of the last next to nothing."""
    said = cost_sentence(session(loss, after, stop_of(loss, 9, NextSettings())))
    assert said.endswith(" is expected to save below 0.01 points.")


def test_two_that_are_rounded_apart_still_leave_what_is_between_them() -> None:
    said = cost_sentence(session(1.234, 1.108, stop_of(1.234, 9, NextSettings())))
    assert "cost 1.23 points" in said
    assert "to save 0.13 points, and to leave 1.10 points." in said


def test_a_page_of_a_target_says_the_day_that_was_asked_for() -> None:
    best = BestTold(BestCasks(2, replace(FOUND, chosen=("C1",))))
    nothing = Match("Fen", "None.", "go on", (), (), 0, None, None, 0, 1)
    target = TargetRecord("Fen", (AimLine("smoke", 40.0, 8.0, 1.0),))
    page = target_page(target, nothing, StandsOn(DAY, "0" * 64), best=best, asked=DAY)
    assert "Deciding on 2026-03-14 would cost" in page
    assert "The best cask on 2026-03-14" in page
    assert "today" not in page
