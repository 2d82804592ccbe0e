from __future__ import annotations

from itertools import combinations

from panel.block_signs import DOT_ROWS, DOTS, large, small


def test_every_sign_fills_the_same_field() -> None:
    for sign in DOTS.values():
        assert len(sign) == DOT_ROWS
        assert {len(row) for row in sign} == {5}


def test_no_two_digits_are_alike() -> None:
    for one, other in combinations("0123456789", 2):
        dots = zip("".join(DOTS[one]), "".join(DOTS[other]), strict=True)
        assert sum(a != b for a, b in dots) >= 2, (one, other)


def test_small_and_large_draw_the_same_dots() -> None:
    upper = {"█": "##", "▀": "# ", "▄": " #", " ": "  "}
    rows = [[upper[cell] for cell in row] for row in small("417")]
    unfolded = ["".join(cell[i] for cell in row) for row in rows for i in (0, 1)]
    assert unfolded == ["".join("#" if c == "█" else " " for c in row[::2]) for row in large("417")]


def test_a_missing_digit_is_a_bar_below() -> None:
    assert large("_") == [" " * 10] * 5 + ["█" * 10]
