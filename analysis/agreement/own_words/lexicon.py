"""Which note of the house does somebody's own word move with?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from ...array_types import Matrix, Vector
from ...errors import FrameError
from ...frames import on_house_scale, usable
from ..indices.layout import additive_levels
from .mfa import correlations
from .rv import row_orders

LEAST_IN_COMMON = 4
_NAMED = 3


@dataclass(frozen=True)
class HouseNotes:
    """What the house knows of the same samples, in its own notes.

    Attributes
    ----------
    table
        Points of the 0-100 line, shape (samples, notes), samples in the order asked for; a
        sample the house does not know has no row.
    """

    samples: tuple[str, ...]
    notes: tuple[str, ...]
    table: Matrix


@dataclass(frozen=True)
class Candidate:
    """One note of the house beside one word.

    Attributes
    ----------
    on_map
        Correlation of the two as far as the consensus axes show it.
    correlation
        Correlation over the samples themselves.
    """

    descriptor: str
    on_map: float
    correlation: float


@dataclass(frozen=True)
class Matched:
    """The house's notes nearest to one word, nearest first.

    Attributes
    ----------
    chance
        Share of rearrangements of the word's scores in which some note of the house comes as
        near as the first candidate.
    by_scores
        The note that the word's own scores correlate with best, on the map or not.
    chance_by_scores
        Share of rearrangements in which some note correlates as well with them.
    """

    candidates: tuple[Candidate, ...]
    chance: float
    by_scores: Candidate
    chance_by_scores: float


def house_notes(house: pd.DataFrame, samples: Sequence[str]) -> HouseNotes | str:
    """Bring what the house knows of some samples into one table.

    Parameters
    ----------
    house
        Either a profile (columns sample, descriptor, estimate) or a scores frame of any
        sessions, whose assessors' levels are taken out.
    samples
        The samples of the session in own words.

    Returns
    -------
    HouseNotes or str
        Or why there is none, in words.

    Raises
    ------
    FrameError
        When the frame is neither.
    """
    known = _estimates(house)
    known = known[known["sample"].isin(list(samples)) & known["estimate"].notna()]
    table = known.pivot_table(index="sample", columns="descriptor", values="estimate")
    table = table.dropna(axis="columns")
    told = table.columns[np.ptp(table.to_numpy(), axis=0) > 0.0] if len(table) else []
    if len(table) < LEAST_IN_COMMON:
        return (
            f"the house knows {len(table)} of these samples by its own notes; "
            f"{LEAST_IN_COMMON} are needed to lay words and notes side by side"
        )
    if len(told) == 0:
        return "no note of the house tells these samples apart"
    order = [name for name in samples if name in table.index]
    values = table.loc[order, told].to_numpy(dtype=np.float64)
    return HouseNotes(tuple(order), tuple(str(name) for name in told), values)


def _estimates(house: pd.DataFrame) -> pd.DataFrame:
    if {"sample", "descriptor", "estimate"} <= set(house.columns):
        return house[["sample", "descriptor", "estimate"]]
    if "score" not in house.columns:
        raise FrameError("house", ["Neither a profile (estimate) nor scores. Give one of them."])
    scores = on_house_scale(usable(house).scores)
    rows: list[tuple[str, str, float]] = []
    for name, part in scores.groupby("descriptor", sort=True):
        means = part.pivot_table(index="assessor", columns="sample", values="score")
        level = additive_levels(means.to_numpy(dtype=np.float64))
        centred = means.sub(level, axis=0).mean(axis=0)
        rows += [(str(sample), str(name), float(value)) for sample, value in centred.items()]
    return pd.DataFrame(rows, columns=["sample", "descriptor", "estimate"])


def match_words(
    words: Matrix, axes: Matrix, house: HouseNotes, *, permutations: int = 999, seed: int = 1
) -> tuple[Matched, ...]:
    """Match words to the house's notes by their correlations with the consensus axes.

    Parameters
    ----------
    words
        Scores of the words, shape (samples, words), over the samples of `house`.
    axes
        Places of those samples on the consensus map, shape (samples, axes).
    house
        The house's notes.

    Returns
    -------
    tuple of Matched
        One a word. With six samples and sixteen notes something is always near: `chance` says
        how often.

    Notes
    -----
    The axes are made orthonormal over these samples; word and note stand at their
    correlations ``c`` with them, and ``c_word . c_note`` is their correlation as far as the
    map shows it.
    """
    basis = np.linalg.qr(axes - axes.mean(axis=0))[0]
    notes = correlations(house.table - house.table.mean(axis=0), basis)
    centred = words - words.mean(axis=0)
    placed = correlations(centred, basis)
    near = placed @ notes.T
    direct = correlations(centred, house.table - house.table.mean(axis=0))
    orders = row_orders(len(words), permutations, seed)
    drawn = _drawn(centred, orders, basis, notes)
    drawn_direct = _drawn(centred, orders, *_own_axes(house))
    return tuple(
        _matched(house.notes, *each)
        for each in zip(near, direct, drawn.T, drawn_direct.T, strict=True)
    )


def _own_axes(house: HouseNotes) -> tuple[Matrix, Matrix]:
    """Return the notes themselves as axes, on each of which one note alone stands."""
    return house.table - house.table.mean(axis=0), np.eye(len(house.notes))


def _drawn(centred: Matrix, orders: np.ndarray, axes: Matrix, notes: Matrix) -> Matrix:
    """Return the nearest that rearranged words come to any note, shape (orders, words)."""
    return np.stack(
        [(correlations(centred[order], axes) @ notes.T).max(axis=1) for order in orders]
    )


def _matched(
    notes: Sequence[str], near: Vector, direct: Vector, drawn: Vector, drawn_direct: Vector
) -> Matched:
    best = np.argsort(-near, kind="stable")[:_NAMED]
    first = int(direct.argmax())
    return Matched(
        candidates=tuple(
            Candidate(notes[at], float(near[at]), float(direct[at])) for at in best if near[at] > 0
        ),
        chance=_chance(near[best[0]], drawn),
        by_scores=Candidate(notes[first], float(near[first]), float(direct[first])),
        chance_by_scores=_chance(direct[first], drawn_direct),
    )


def _chance(seen: float, drawn: Vector) -> float:
    as_near = np.count_nonzero(drawn >= seen - 1e-12)
    return float((1.0 + as_near) / (len(drawn) + 1.0))
