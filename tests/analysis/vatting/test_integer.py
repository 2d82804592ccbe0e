"""The rows of the integer program."""

from __future__ import annotations

from dataclasses import replace

from analysis.vatting.integer import Layout
from tests.analysis.vatting.test_rows_by_hand import (
    THREE,
    model_of,
    plain,
)


def test_every_count_is_a_row_of_the_program() -> None:
    for limits, more in ((THREE, 0), (replace(THREE, casks_max=3), 1)):
        model = model_of(limits, plain(5))
        counts = [rows for rows, _ in Layout(model).rows()]
        assert sum(rows.shape[0] for rows in counts) == len(model.soft) + len(model.hard) + more
