"""The line in characters: signs keep their order and their place as far as there is room."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from panel.desk.scale_line import LETTERS, ScaleLine, spread

values = st.floats(min_value=0, max_value=100)


@given(st.lists(values, max_size=24), st.integers(24, 90))
def test_letters_stand_in_the_order_of_their_values(given_values: list[float], width: int) -> None:
    placed = dict(zip(LETTERS, given_values, strict=False))
    drawn = ScaleLine(width).letters(placed, guide=40.0)
    assert len(drawn) == width
    read = [sign for sign in drawn if sign in placed]
    assert read == sorted(placed, key=lambda sign: (placed[sign], sign))


@given(st.lists(st.integers(0, 50), max_size=30))
def test_places_that_meet_move_no_further_than_the_crowd_needs(places: list[int]) -> None:
    rising = sorted(places)
    moved = spread(rising, 51)
    assert all(one < other for one, other in pairwise(moved))
    assert all(0 <= cell < 51 for cell in moved)
    if len(set(rising)) == len(rising):
        assert moved == rising
    for before, after in zip(rising, moved, strict=True):
        assert abs(before - after) < max(len(rising), 1)


@given(values, st.floats(min_value=0, max_value=60))
def test_a_bar_shows_that_it_leaves_the_line(middle: float, half: float) -> None:
    drawn = ScaleLine(41).bar(middle - half, middle, middle + half)
    assert len(drawn) == 41
    assert drawn.count("●") == 1
    assert ("◂" in drawn) <= (middle - half < 0)
    assert ("▸" in drawn) <= (middle + half > 100)


def test_the_axis_has_both_ends_and_the_middle() -> None:
    axis = ScaleLine(51).axis()
    assert axis.split() == ["0", "25", "50", "75", "100"]
    assert len(axis) == 51
    assert axis.index("50") in (24, 25)


def test_a_reversed_order_can_be_read() -> None:
    drawn = ScaleLine(21).letters({"a": 90, "b": 50, "c": 10})
    assert "".join(sign for sign in drawn if sign in "abc") == "cba"
