"""Where the line ends: how a note is read, and below what each person writes 0."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.profile.ends import Ends, ReadAs, least_written, step_of


def scores(zeros: int, within: int, tops: int = 0) -> np.ndarray:
    return np.concatenate([np.zeros(zeros), np.linspace(5.0, 95.0, within), np.full(tops, 100.0)])


@pytest.mark.parametrize(
    ("y", "reading"),
    [
        (scores(0, 40), ReadAs.AS_WRITTEN),
        (scores(2, 48), ReadAs.AS_WRITTEN),
        (scores(3, 47), ReadAs.BELOW),
        (scores(0, 47, 3), ReadAs.BELOW),
        (scores(108, 12), ReadAs.BELOW),
        (scores(109, 12), ReadAs.FOUND),
        (scores(109, 11), ReadAs.FOUND),
        (scores(20, 11), ReadAs.FOUND),
        (scores(0, 11), ReadAs.AS_WRITTEN),
    ],
)
def test_the_share_at_an_end_decides(y: np.ndarray, reading: ReadAs) -> None:
    assert ReadAs.of(y) is reading


def test_a_zero_lies_below_what_its_writer_writes_down() -> None:
    y = np.array([0.0, 4, 6, 9, 20, 30, 0, 1, 2, 3, 4, 5, 100, 0, 50])
    assessor = np.repeat([0, 1, 2], [6, 7, 2])
    ends = Ends.of(y, assessor)
    assert ends.step == 1.0
    assert ends.written.tolist() == [3.5, 0.5, 2.0]
    assert ends.rows.tolist() == [0, 6, 12, 13]
    assert ends.cut.tolist() == [3.5, 0.5, 99.5, 2.0]
    assert ends.sign.tolist() == [1.0, 1.0, -1.0, 1.0]
    assert ends.within.sum() == 11


def test_a_cut_is_never_nearer_than_half_a_step_nor_further_than_ten_points() -> None:
    y = np.array([0.5, 7, 8, 9, 10, 60, 61, 62, 63, 64])
    assert least_written(y, np.repeat([0, 1], 5), 1.0).tolist() == [0.5, 10.0]


def test_nobody_wrote_enough_to_tell() -> None:
    y = np.array([0.0, 30.0, 40.0])
    assert least_written(y, np.array([0, 1, 1]), 10.0).tolist() == [5.0, 5.0]


def test_a_line_of_one_score_has_a_step() -> None:
    assert step_of(np.zeros(4)) == 1.0
