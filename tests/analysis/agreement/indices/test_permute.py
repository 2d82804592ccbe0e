"""Rearranged codes against all rearrangements counted one by one."""

from __future__ import annotations

from itertools import permutations, product

import numpy as np
import pytest

from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.indices.permute import permutation_p


def _layout(table: list[list[float]]) -> ScoreLayout:
    """Lay a table out; a nan is a glass that was not scored."""
    values = np.array(table)
    row, column = np.nonzero(~np.isnan(values))
    names = (tuple("ABCDEFG"[: values.shape[0]]), tuple("pqrstuv"[: values.shape[1]]))
    return ScoreLayout(*names, row, column, values[row, column])


def _counted(table: list[list[float]]) -> float:
    """Count the rearrangements within each row that bring the samples as far apart."""
    rows = [np.array(row) - np.nanmean(row) for row in table]
    counts = np.sum([~np.isnan(row) for row in rows], axis=0)
    ways = []
    for row in rows:
        held = np.flatnonzero(~np.isnan(row))
        ways.append([(held, list(order)) for order in permutations(row[held])])

    def far(chosen: tuple[tuple[np.ndarray, list[float]], ...]) -> float:
        sums = np.zeros(len(counts))
        for held, order in chosen:
            sums[held] += order
        return float(np.sum(sums**2 / counts))

    seen = far(tuple((way[0][0], rows[at][way[0][0]].tolist()) for at, way in enumerate(ways)))
    every = [far(chosen) for chosen in product(*ways)]
    return float(np.mean(np.array(every) >= seen * (1.0 - 1e-9)))


NAN = float("nan")


@pytest.mark.parametrize(
    "table",
    [
        [[0.0, 10.0], [0.0, 10.0]],
        [[0.0, 10.0, 20.0], [3.0, 9.0, 30.0], [5.0, 1.0, 12.0]],
        [[0.0, 10.0, 20.0], [3.0, NAN, 30.0], [5.0, 1.0, 12.0]],
        [[60.0, 70.0, 95.0], [3.0, 30.0, NAN], [NAN, 1.0, 12.0]],
    ],
)
def test_every_rearrangement_counted(table: list[list[float]]) -> None:
    """Each one's glasses change among themselves, and only those that were scored."""
    found = permutation_p(_layout(table), permutations=4999)
    assert found == pytest.approx(_counted(table), abs=0.02)


def test_what_was_seen_is_one_of_the_rearrangements() -> None:
    """Six who agree on six glasses: no other is as far, and p is one in a thousand, not none."""
    assert permutation_p(_layout([[0.0, 1.0, 2.0, 4.0, 8.0, 16.0]] * 6)) == 1.0 / 1000.0
