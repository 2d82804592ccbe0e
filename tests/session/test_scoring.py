"""The rules at the glass, without a database and without a screen."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from panel.errors import WrongGlass
from panel.kinds import SessionKind
from panel.session import scoring
from panel.store.booth_tray import Glass, Line, Tray
from tests.conftest import FIXED_NOW

LINES = tuple(
    Line(i, name, "nose", "", "not perceived", "very strong")
    for i, name in enumerate(("oak", "tar"))
)


def glass(place: int, code: str, **changes: object) -> Glass:
    plain = Glass(
        serving_id=place + 1,
        code=code,
        flight=1,
        position=place,
        pouring=1,
        warm_up=place == 0,
        withdrawn=False,
        poured_again=False,
        taken_order=None,
        taken_at=None,
        finished_at=None,
        scores={},
        faults=frozenset(),
        note="",
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def tray(*glasses: Glass, may_go_back: bool = True, pause_s: int = 60) -> Tray:
    return Tray(
        "evening",
        SessionKind.PROFILE,
        False,
        may_go_back,
        pause_s,
        "UTC",
        False,
        LINES,
        glasses,
        (),
    )


def done(place: int, code: str, at: datetime = FIXED_NOW, **changes: object) -> Glass:
    facts = {"taken_order": place + 1, "taken_at": at, "finished_at": at, **changes}
    return glass(place, code, **facts)


def test_next_is_the_first_untaken_in_the_planned_order_whatever_order_they_come_in() -> None:
    mixed = tray(glass(2, "382"), done(0, "538"), glass(1, "417"))
    found = scoring.planned_next(mixed)
    assert found is not None
    assert found.code == "417"
    assert scoring.planned_next(tray(done(0, "538"))) is None


def test_a_code_that_is_not_on_the_tray_is_refused() -> None:
    with pytest.raises(WrongGlass, match="999 is not on your tray"):
        scoring.may_take(tray(glass(0, "538")), "999", FIXED_NOW)


def test_out_of_order_is_allowed_and_said() -> None:
    both = tray(glass(0, "538"), glass(1, "417"))
    second = scoring.may_take(both, "417", FIXED_NOW)
    assert scoring.order_said(both, second) == "538 comes before 417 on your tray."
    assert scoring.order_said(both, scoring.may_take(both, "538", FIXED_NOW)) is None


def test_one_glass_at_a_time() -> None:
    in_hand = glass(0, "538", taken_order=1, taken_at=FIXED_NOW)
    both = tray(in_hand, glass(1, "417"))
    assert scoring.glass_in_hand(both) == in_hand
    with pytest.raises(WrongGlass, match="538 is still in your hand"):
        scoring.may_take(both, "417", FIXED_NOW)
    assert scoring.may_take(both, "538", FIXED_NOW) == in_hand


@pytest.mark.parametrize(("after_s", "left_s"), [(0, 60), (0.2, 60), (59.9, 1), (60, 0), (500, 0)])
def test_the_pause_counts_from_the_glass_finished_last(after_s: float, left_s: int) -> None:
    earlier = FIXED_NOW - timedelta(minutes=9)
    now = FIXED_NOW + timedelta(seconds=after_s)
    both = tray(done(0, "538", earlier), done(1, "417"), glass(2, "382"))
    assert scoring.pause_left_s(both, now) == left_s


def test_the_pause_holds_the_next_glass_back() -> None:
    both = tray(done(0, "538"), glass(1, "417"))
    with pytest.raises(WrongGlass, match=r"^The pause still runs: wait until it is over\.$"):
        scoring.may_take(both, "417", FIXED_NOW + timedelta(seconds=15))
    scoring.may_take(both, "417", FIXED_NOW + timedelta(seconds=60))


@given(st.integers(-10_000, 10_000), st.integers(0, 600))
def test_the_pause_is_never_longer_than_set_even_when_a_clock_was_put_back(
    seconds: int, pause_s: int
) -> None:
    now = FIXED_NOW + timedelta(seconds=seconds)
    left = scoring.pause_left_s(tray(done(0, "538"), pause_s=pause_s), now)
    assert 0 <= left <= pause_s
    assert left == 0 or -pause_s <= seconds < pause_s


def test_going_back_within_the_flight_and_only_where_the_session_lets_one() -> None:
    first, second = done(0, "538"), done(1, "417", flight=2, taken_order=2)
    both = tray(first, second, glass(2, "382", flight=2))
    assert scoring.open_to_return(both) == (second,)
    assert scoring.may_take(both, "417", FIXED_NOW) == second
    with pytest.raises(WrongGlass, match="belongs to a flight that is over"):
        scoring.may_take(both, "538", FIXED_NOW)
    with pytest.raises(WrongGlass, match="does not go back"):
        scoring.may_take(replace(both, may_go_back=False), "417", FIXED_NOW)


def test_a_withdrawn_glass_is_said_and_counts_nowhere() -> None:
    both = tray(glass(0, "538", withdrawn=True), glass(1, "417"))
    with pytest.raises(WrongGlass, match="The lead took 538 out"):
        scoring.may_take(both, "538", FIXED_NOW)
    assert scoring.left(both).glasses == 1
    assert scoring.planned_next(both) == both.glasses[1]


def test_the_newest_pouring_is_the_one_to_take() -> None:
    spilled = glass(0, "538", poured_again=True, taken_order=1, taken_at=FIXED_NOW)
    with pytest.raises(WrongGlass, match="being poured again"):
        scoring.may_take(tray(spilled), "538", FIXED_NOW)
    fresh = glass(0, "538", serving_id=9, pouring=2)
    both = tray(spilled, fresh)
    assert scoring.may_take(both, "538", FIXED_NOW) == fresh
    assert scoring.glass_in_hand(both) is None


def test_what_is_left_of_flight_and_evening() -> None:
    glasses = tray(
        done(0, "538"), done(1, "417"), glass(2, "382", flight=2), glass(3, "295", flight=2)
    )
    assert scoring.left(glasses) == scoring.Left(2, 2, 0, 2, 2, 4)


def test_an_empty_tray_has_nothing_left() -> None:
    assert scoring.left(tray()) == scoring.Left(1, 1, 0, 0, 0, 0)


def test_minutes_as_on_a_clock() -> None:
    assert [scoring.minutes(s) for s in (0, 5, 65, 180)] == ["0:00", "0:05", "1:05", "3:00"]
