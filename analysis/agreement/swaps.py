"""Two glasses of one tray that read as if they had changed places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.agreement.crossed import Matrix, Vector
from analysis.agreement.layout import Layout, others_mean

_PRIOR = 0.03
"""Share of trays with two glasses swapped, before looking (house figure)."""
_SHARED_NOISE = 0.5
"""Notes of one glass go wrong together, so they count as half as many witnesses."""


@dataclass(frozen=True)
class Swap:
    """Two samples of one assessor that read the other way round.

    Attributes
    ----------
    samples
        The two, by name.
    probability
        Chance of a swap of these two, against no swap and against any other pair.
    n_notes
        Notes on which the two stand the opposite way round.
    """

    samples: tuple[str, str]
    probability: float
    n_notes: int


def find_swap(assessor: str, layouts: Sequence[Layout], least: float) -> Swap | None:
    """Look for two glasses of an assessor that changed places.

    Parameters
    ----------
    assessor
        Whose tray.
    layouts
        The notes on which the panel told the samples apart.
    least
        Least probability to speak of.

    Returns
    -------
    Swap or None

    Notes
    -----
    With own scores c, the others' means o and noise variance v, a pair stands straight by
    ``S = sum (c_j - c_k)(o_j - o_k) / v`` over the notes: the log odds of a swap are ``-S``
    beside the prior, 3 % a tray spread over its pairs. S is halved because notes of one glass
    go wrong together.
    """
    samples = sorted({name for layout in layouts for name in layout.samples})
    if len(samples) < 3:
        return None
    straight = np.zeros((len(samples), len(samples)))
    reversed_notes = np.zeros_like(straight)
    for layout in layouts:
        if assessor not in layout.assessors:
            continue
        own = _differences(_placed(layout, samples, layout.adjusted[_row(layout, assessor)]))
        others = _differences(
            _placed(layout, samples, others_mean(layout.adjusted, _row(layout, assessor)))
        )
        product = np.nan_to_num(own * others)
        straight += product / _noise(layout)
        reversed_notes += product < 0
    upper = np.triu_indices(len(samples), 1)
    log_odds = np.log(_PRIOR / len(upper[0]) / (1.0 - _PRIOR)) - _SHARED_NOISE * straight[upper]
    peak = max(float(log_odds.max()), 0.0)
    odds = np.exp(log_odds - peak)
    chances = odds / (odds.sum() + np.exp(-peak))
    best = int(chances.argmax())
    if chances[best] < least:
        return None
    j, k = int(upper[0][best]), int(upper[1][best])
    return Swap((samples[j], samples[k]), float(chances[best]), int(reversed_notes[j, k]))


def _row(layout: Layout, assessor: str) -> int:
    return layout.assessors.index(assessor)


def _noise(layout: Layout) -> float:
    """Variance of a cell about the means of the samples."""
    adjusted = layout.adjusted
    present = ~np.isnan(adjusted)
    n = present.sum(axis=0)
    means = np.where(present, adjusted, 0.0).sum(axis=0) / n
    left = np.where(present, adjusted - means, 0.0)
    df = max(int(present.sum()) - sum(adjusted.shape) + 1, 1)
    return max(float(np.sum(left**2)) / df, 1e-9)


def _placed(layout: Layout, samples: Sequence[str], values: Vector) -> Vector:
    placed = np.full(len(samples), np.nan)
    placed[np.searchsorted(np.array(samples), np.array(layout.samples))] = values
    return placed


def _differences(values: Vector) -> Matrix:
    found: Matrix = values[:, None] - values
    return found
