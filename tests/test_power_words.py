"""What is said of how much a question needs, where it can never be answered."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.next_glasses import PowerRow, PowerTable, Widths
from panel.words.power_words import power_lines, power_sentence


def asked(points: float) -> PowerTable:
    row = PowerRow("ember", 6, 6, 1, 36, points, 0.5, 0.5, 0.01, 9.0, 0.02, 19.0, 1.0)
    return PowerTable(points, 10.0, 60, 5, (row,), (), (), learned=True, seed=1)


@pytest.mark.parametrize("points", [8.0, 10.0])
def test_of_what_lies_within_the_tolerance_it_is_never_said(points: float) -> None:
    said = power_sentence(asked(points))
    assert "never rightly called surely apart" in said
    assert "8 times in 10" not in said


def test_of_more_than_the_tolerance_each_design_is_told() -> None:
    assert "8 times in 10 by 1 session of 6 assessors" in power_sentence(asked(18.0))


def test_rows_stay_whole_at_80_columns_and_what_is_alike_is_said_once() -> None:
    notes = ("burnt sugar edge", "ember")
    rows = tuple(replace(asked(18.0).rows_of[0], note=note) for note in notes)
    widths = tuple(Widths(note, 6, 36, 10.0, 5.18, 5.18, 5.0) for note in notes)
    said = power_lines(replace(asked(18.0), rows_of=rows, widths=widths))
    assert "In every row: people 6, samples 6, sessions 1, glasses 36." in said
    assert any(line.startswith("burnt sugar edge") and line.endswith("±5.18") for line in said)
    assert max(map(len, said)) <= 80
    short = tuple(replace(row, note=row.note[:5]) for row in rows)
    widths = tuple(replace(width, note=width.note[:5]) for width in widths)
    said = power_lines(replace(asked(18.0), rows_of=short, widths=widths))
    assert not any(line.startswith("In every row") for line in said)
