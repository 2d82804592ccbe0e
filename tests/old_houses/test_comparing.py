"""The comparison of answers finds what differs, and lets pass no more than was meant."""

from __future__ import annotations

import pytest

from tests.old_houses.comparing import CLOSE, GONE, SINCE_0001, differences, meant


@pytest.mark.parametrize(
    ("before", "now", "said"),
    [
        ({"a": 1.0}, {"a": 1.0 + CLOSE / 2, "b": 2}, []),
        ({"a": [1.0, 2]}, {"a": [1.1, 3]}, ["x/a/0: 1.0 is now 1.1", "x/a/1: 2 is now 3"]),
        ({"a": [1.0]}, {"a": []}, ["x/a/0: 1.0 is now 'nothing'"]),
        ({"a": []}, {"a": [1.0]}, ["x/a/0: 'nothing' is now 1.0"]),
        (
            {"a": [{"cask": "W1", "n": 1}, {"cask": "W2", "n": 2}]},
            {"a": [{"cask": "W2", "n": 2}, {"cask": "W1", "n": 3}]},
            ["x/a/W1/n: 1 is now 3"],
        ),
        (
            {"a": None, "b": "safe"},
            {"a": 0.0},
            ["x/a: None is now 0.0", "x/b: 'safe' is now 'nothing'"],
        ),
    ],
)
def test_what_differs_is_named(before: object, now: object, said: list[str]) -> None:
    assert list(differences(before, now, "x", SINCE_0001)) == said


@pytest.mark.parametrize(
    ("before", "now", "where", "covered"),
    [
        (0.4, 0.55, "match Lantern/casks/W09 2026 W09/probability", True),
        (0.4, 0.65, "match Lantern/casks/W09 2026 W09/probability", False),
        (0.4, None, "match Lantern/casks/W09 2026 W09/probability", False),
        ({"cask": "W04"}, GONE, "match Lantern/casks/W04 2026 W04", True),
        ({"cask": "W05"}, GONE, "match Lantern/casks/W05 2026 W05", False),
        ("safe", "unsafe", "agreement winter-1/verdict", False),
    ],
)
def test_a_change_covers_no_more_than_it_says(
    before: object, now: object, where: str, covered: bool
) -> None:
    assert meant(before, now, where, SINCE_0001) is covered
