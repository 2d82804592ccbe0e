"""Which draw stands for a cask: the latest of what is in it."""

from __future__ import annotations

import pandas as pd
import pytest

from analysis.profile.latest import in_cask, latest_draws

# sample, cask, filling, drawn, nosed last
DRAWS = [
    ("A-old", "A", "A/1", "2024-01-01", "2026-01-01"),
    ("A-new", "A", "A/2", "2023-01-01", "2023-02-01"),  # dated before: a slip of the pen
    ("B-1", "B", "B/1", "2025-01-01", "2025-02-01"),
    ("B-2", "B", "B/1", "2025-01-01", "2025-03-01"),
    ("C-2", "C", "C/1", None, "2025-03-01"),
    ("C-1", "C", "C/1", "2020-01-01", None),
    ("D-1", "D", None, "2021-01-01", "2021-02-01"),
    ("E-1", "E", "E/1", "2021-01-01", "2021-02-01"),
    ("E-2", "E", "E/1", "2021-01-01", "2021-02-01"),
    ("R-1", None, None, "2026-01-01", "2026-02-01"),
]
CURRENT = ["A/2", "B/1", "C/1", "D/1", "E/9"]


def estimates() -> pd.DataFrame:
    """Two notes a draw, in no order of dates."""
    frame = pd.DataFrame(DRAWS, columns=["sample", "cask", "filling", "drawn_on", "last_nosed"])
    for column in ("drawn_on", "last_nosed"):
        frame[column] = pd.to_datetime(frame[column])
    notes = [frame.assign(descriptor=note, estimate=30.0) for note in ("smoke", "plum")]
    return pd.concat(notes).sample(frac=1.0, random_state=3, ignore_index=True)


def test_the_latest_draw_of_the_filling_that_is_in_the_cask() -> None:
    found = latest_draws(estimates(), CURRENT)
    assert found["cask"].tolist() == ["A", "B", "C", "D", "E"]
    assert found["sample"].tolist() == ["A-new", "B-2", "C-1", "D-1", "E-2"]
    assert found["is_current"].tolist() == [True, True, True, True, False]


def test_without_word_of_what_is_in_it_the_last_draw_of_all_counts() -> None:
    found = latest_draws(estimates())
    assert found["sample"].tolist() == ["A-old", "B-2", "C-1", "D-1", "E-2"]
    assert found["is_current"].all()


def test_nothing_nosed_gives_nothing() -> None:
    assert latest_draws(estimates().iloc[:0], CURRENT).empty


@pytest.mark.parametrize("with_status", [True, False])
def test_what_was_emptied_is_in_no_cask(with_status: bool) -> None:
    casks = pd.DataFrame({"cask": ["A", "B"], "status": ["emptied", "leaking"]})
    found = in_cask(casks if with_status else casks.drop(columns="status"))
    assert found["cask"].tolist() == (["B"] if with_status else ["A", "B"])
