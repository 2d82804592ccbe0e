"""Two glasses of one tray that read as if they had changed places."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from analysis.agreement.indices.layout import ScoreLayout
from analysis.array_types import Matrix, Vector

_PRIOR = 0.03
"""Share of trays with two glasses swapped, before looking (house figure)."""
_WHOLE_SAMPLES = 1.0 / 3.0
"""Of those, the share in which all glasses of two samples changed places (a bottle mistaken)."""
_SHARED_NOISE = 0.5
"""Notes of one glass go wrong together, so they count as half as many witnesses."""
_MOST_ODDS = 1e6
_LEAST_SAMPLES = 3

Glass = tuple[str, int]
"""A sample and which of its replicates."""


@dataclass(frozen=True)
class Swap:
    """Two glasses of one assessor that read the other way round.

    Attributes
    ----------
    samples
        The two, by name.
    replicates
        Which glass of each; None when all glasses of the two samples read so.
    probability
        Chance of a swap of these two, against no swap and against any other pair.
    odds
        The same as odds, ``probability / (1 - probability)``, cut off at a million.
    n_notes
        Notes on which the two stand the opposite way round.
    marked
        Whether the lead marked these two as suspected; then they are given whatever the odds.
    """

    samples: tuple[str, str]
    replicates: tuple[int, int] | None
    probability: float
    odds: float
    n_notes: int
    marked: bool = False


def find_swap(assessor: str, notes: Sequence[SwapNote], least: float) -> Swap | None:
    """Look for two glasses of an assessor that changed places.

    Parameters
    ----------
    assessor
        Whose tray.
    notes
        The notes on which the panel told the samples apart.
    least
        Least probability to speak of.

    Returns
    -------
    Swap or None
        The likeliest; or the pair the lead marked as suspected, whatever its odds.

    Notes
    -----
    With own scores c, the others' means o and variance v of one glass about them, two glasses
    stand straight by ``S = sum (c_g - c_h)(o_g - o_h) / v`` over the notes: the log odds of a
    swap are ``-S`` beside the prior, 3 % a tray spread over its pairs. S is halved because
    notes of one glass go wrong together. Where glasses are repeated, all glasses of two
    samples changing places is weighed as well.
    """
    tray = _Tray.of(assessor, notes)
    if len(tray.samples) < _LEAST_SAMPLES:
        return None
    found = tray.hypotheses()
    log_odds = found.log_prior - _SHARED_NOISE * found.straight
    peak = max(float(log_odds.max()), 0.0)
    weights = np.exp(log_odds - peak)
    chances = weights / (weights.sum() + np.exp(-peak))
    marked = tray.marked_at(found)
    best = int(chances.argmax()) if marked is None else marked
    chance = float(chances[best])
    if marked is None and chance < least:
        return None
    samples, replicates = tray.named(found, best)
    return Swap(
        samples=samples,
        replicates=replicates,
        probability=chance,
        odds=min(chance / max(1.0 - chance, 1e-300), _MOST_ODDS),
        n_notes=int(found.n_reversed[best]),
        marked=marked is not None,
    )


def exchanged(scores: pd.DataFrame, assessor: str, swap: Swap) -> pd.DataFrame:
    """A copy of a scores frame in which two glasses have changed places, on every note.

    It answers "what if"; the scores themselves stay as they were given.
    """
    one, other = swap.samples
    own = scores["assessor"] == assessor
    frame = scores.copy()
    if swap.replicates is None:
        frame["sample"] = frame["sample"].where(
            ~own, frame["sample"].replace({one: other, other: one})
        )
        return frame
    first, second = swap.replicates
    at_one = own & (frame["sample"] == one) & (frame["replicate"] == first)
    at_other = own & (frame["sample"] == other) & (frame["replicate"] == second)
    for rows, name, replicate in ((at_one, other, second), (at_other, one, first)):
        frame.loc[rows, "sample"] = name
        frame.loc[rows, "replicate"] = replicate
    return frame


@dataclass(frozen=True)
class _Hypotheses:
    """Pairs that may have changed places, all arrays of one length.

    `first` and `second` count glasses, or samples where `whole`.
    """

    first: np.ndarray
    second: np.ndarray
    whole: np.ndarray
    straight: Vector
    n_reversed: Vector
    log_prior: Vector


@dataclass(frozen=True)
class _Tray:
    """One assessor's glasses beside the others' means, over all notes.

    `straight` and `n_reversed` have shape (glasses, glasses), those of whole samples (samples,
    samples).
    """

    glasses: tuple[Glass, ...]
    samples: tuple[str, ...]
    straight: Matrix
    n_reversed: Matrix
    straight_samples: Matrix
    n_reversed_samples: Matrix
    marked: tuple[Glass, Glass] | None

    @classmethod
    def of(cls, assessor: str, notes: Sequence[SwapNote]) -> _Tray:
        used = [_Own.of(assessor, note) for note in notes if assessor in note.layout.assessors]
        glasses = sorted({glass for own in used for glass in own.scores})
        samples = sorted({name for name, _ in glasses})
        by_glass, by_sample = _Straight(len(glasses)), _Straight(len(samples))
        for own in used:
            others = np.array([own.others.get(name, np.nan) for name, _ in glasses])
            by_glass.add(_at(own.scores, glasses), others, own.note.glass_noise)
            others = np.array([own.others.get(name, np.nan) for name in samples])
            by_sample.add(_at(own.means, samples), others, own.note.cell_noise)
        marked = sorted({glass for own in used for glass in own.marked})
        return cls(
            glasses=tuple(glasses),
            samples=tuple(samples),
            straight=by_glass.straight,
            n_reversed=by_glass.n_reversed,
            straight_samples=by_sample.straight,
            n_reversed_samples=by_sample.n_reversed,
            marked=(marked[0], marked[1]) if len(marked) == 2 else None,
        )

    def hypotheses(self) -> _Hypotheses:
        """Every pair of glasses of unlike samples; pairs of samples too, where repeated."""
        owner = np.searchsorted(np.array(self.samples), [name for name, _ in self.glasses])
        first, second = np.triu_indices(len(self.glasses), 1)
        unlike = owner[first] != owner[second]
        glasses = first[unlike], second[unlike]
        repeated = len(self.glasses) > len(self.samples)
        samples = np.triu_indices(len(self.samples) if repeated else 0, 1)
        share = 1.0 - _WHOLE_SAMPLES if repeated else 1.0
        prior = [_log_prior(share, glasses[0]), _log_prior(_WHOLE_SAMPLES, samples[0])]
        return _Hypotheses(
            first=np.concatenate([glasses[0], samples[0]]),
            second=np.concatenate([glasses[1], samples[1]]),
            whole=np.arange(len(glasses[0]) + len(samples[0])) >= len(glasses[0]),
            straight=np.concatenate([self.straight[glasses], self.straight_samples[samples]]),
            n_reversed=np.concatenate([self.n_reversed[glasses], self.n_reversed_samples[samples]]),
            log_prior=np.concatenate(prior),
        )

    def named(self, found: _Hypotheses, at: int) -> tuple[tuple[str, str], tuple[int, int] | None]:
        """Samples and replicates of a pair."""
        i, j = int(found.first[at]), int(found.second[at])
        if found.whole[at]:
            return (self.samples[i], self.samples[j]), None
        one, other = self.glasses[i], self.glasses[j]
        return (one[0], other[0]), (one[1], other[1])

    def marked_at(self, found: _Hypotheses) -> int | None:
        """Where the pair stands that the lead marked; None without one."""
        if self.marked is None:
            return None
        i, j = (self.glasses.index(glass) for glass in self.marked)
        at = np.flatnonzero((found.first == i) & (found.second == j) & ~found.whole)
        return int(at[0]) if len(at) else None


def _log_prior(share: float, pairs: np.ndarray) -> Vector:
    chance = _PRIOR * share / max(len(pairs), 1) / (1.0 - _PRIOR)
    return np.full(len(pairs), np.log(chance))


class _Straight:
    """Adds up over notes how straight each pair stands."""

    def __init__(self, size: int) -> None:
        self.straight = np.zeros((size, size))
        self.n_reversed = np.zeros((size, size))

    def add(self, own: Vector, others: Vector, noise: float) -> None:
        product = np.nan_to_num((own[:, None] - own) * (others[:, None] - others))
        self.straight += product / noise
        self.n_reversed += product < 0


@dataclass(frozen=True)
class SwapNote:
    """One descriptor as swaps are looked for: plain arrays, laid out once for all assessors."""

    layout: ScoreLayout
    assessor: np.ndarray
    sample: np.ndarray
    replicate: np.ndarray
    score: Vector
    suspected: np.ndarray
    cell_noise: float
    glass_noise: float

    @classmethod
    def of(cls, layout: ScoreLayout, scores: pd.DataFrame) -> SwapNote:
        """Lay out the test scores of one descriptor."""
        cell, glass = _noise(layout)
        return cls(
            layout=layout,
            assessor=scores["assessor"].to_numpy(dtype=object),
            sample=scores["sample"].to_numpy(dtype=object),
            replicate=scores["replicate"].to_numpy(dtype=np.int64),
            score=scores["score"].to_numpy(dtype=np.float64),
            suspected=(scores["status"] == "swap_suspected").to_numpy(),
            cell_noise=cell,
            glass_noise=glass,
        )


@dataclass(frozen=True)
class _Own:
    """One assessor on one note, beside the means of the others."""

    note: SwapNote
    scores: Mapping[Glass, float]
    means: Mapping[str, float]
    others: Mapping[str, float]
    marked: Sequence[Glass]

    @classmethod
    def of(cls, assessor: str, note: SwapNote) -> _Own:
        own = np.flatnonzero(note.assessor == assessor)
        glasses = list(zip(note.sample[own], note.replicate[own].tolist(), strict=True))
        row = note.layout.assessors.index(assessor)
        names = note.layout.samples
        return cls(
            note=note,
            scores=dict(zip(glasses, note.score[own].tolist(), strict=True)),
            means=dict(zip(names, note.layout.means[row].tolist(), strict=True)),
            others=dict(zip(names, note.layout.others[row].tolist(), strict=True)),
            marked=[glass for glass, yes in zip(glasses, note.suspected[own], strict=True) if yes],
        )


def _noise(layout: ScoreLayout) -> tuple[float, float]:
    """Variance of a cell about the means of the samples, and of one of its glasses."""
    adjusted = layout.adjusted
    present = ~np.isnan(adjusted)
    n = present.sum(axis=0)
    means = np.where(present, adjusted, 0.0).sum(axis=0) / n
    left = np.where(present, adjusted - means, 0.0)
    df = max(int(present.sum()) - sum(adjusted.shape) + 1, 1)
    cell = max(float(np.sum(left**2)) / df, 1e-9)
    extra = float(np.sum(layout.counts - (layout.counts > 0)))
    repeat = float(layout.within_squares.sum()) / extra if extra > 0 else 0.0
    share = 1.0 - layout.n_cells / float(layout.counts.sum())
    return cell, cell + share * repeat


def _at(values: Mapping[Any, float], names: Sequence[Any]) -> Vector:
    return np.array([values.get(name, np.nan) for name in names], dtype=np.float64)
