"""How far each person stood off the others, session by session, over all glasses."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from ...array_types import Matrix, Vector
from ...frames import TEST_KINDS
from .medians import row_medians

_TAILS = 4.0
"""Degrees of freedom of the weight: a glass far off its person's usual counts little."""
_LEAST_SD = 1.0
"""Points below which distances are taken for equal."""
_SCALE_SD = 0.3
"""How far from one the width of line that a person uses is expected to be."""
_ROUNDS = 6
LEAST_BESIDE = 2
"""Others who scored the same glass: beside one alone nobody knows which of the two moved."""


@dataclass(frozen=True)
class NoteTable:
    """Every glass of one note.

    Attributes
    ----------
    score
        Shape (people, glasses), NaN where not scored.
    at
        Which session each glass stood in, shape (glasses, sessions), of noughts and ones.
    """

    score: Matrix
    at: Matrix


@dataclass(frozen=True)
class Glasses:
    """All glasses of some sessions, in order of their dates."""

    people: tuple[str, ...]
    sessions: tuple[str, ...]
    dates: tuple[str | None, ...]
    notes: Mapping[str, NoteTable]


@dataclass(frozen=True)
class Numbers:
    """A number for each person and session, NaN for none.

    Attributes
    ----------
    off
        Points off the others on the same glasses, the person's own place and width taken out.
    noise
        Variance that the glasses alone give such a number, one a person; NaN where nothing is
        known of it.
    lean
        By how much one sd of the width of a person's line on each note leans each number, shape
        (people, sessions, notes).
    """

    off: Matrix
    noise: Vector
    lean: np.ndarray


@dataclass(frozen=True)
class _Left:
    """What is left of the scores of a note, what was leaned on, and one sd of each width."""

    left: Matrix
    glass: Matrix
    width_sd: Vector
    at: Matrix


def glasses_of(scores: pd.DataFrame, notes: Sequence[str]) -> Glasses:
    """Lay out checked scores on the 0-100 line; a warm-up says nothing."""
    rows = scores[
        scores["kind"].isin([*TEST_KINDS, "reference"]) & scores["descriptor"].isin(notes)
    ]
    days = rows.groupby("session")["held_on"].min().reset_index()
    days = days.sort_values(["held_on", "session"], na_position="last")
    order = [str(name) for name in days["session"]]
    people = sorted({str(who) for who in rows["assessor"]})
    tables = {
        str(note): _table(part, people, order)
        for note, part in rows.groupby("descriptor", sort=True)
    }
    dates = tuple(None if pd.isna(day) else str(day.date()) for day in days["held_on"])
    return Glasses(tuple(people), tuple(order), dates, tables)


def _table(rows: pd.DataFrame, people: Sequence[str], order: Sequence[str]) -> NoteTable:
    wide = rows.pivot_table(index="assessor", columns=["session", "sample"], values="score")
    number = {name: at for at, name in enumerate(order)}
    session = [number[str(name)] for name in wide.columns.get_level_values("session")]
    score = wide.reindex(index=list(people)).to_numpy(dtype=np.float64)
    return NoteTable(score, np.eye(len(order))[session])


def off_others(
    glasses: Glasses, without: Collection[tuple[str, str | None]] = ()
) -> Mapping[str | None, Numbers]:
    """Return where everybody stood in each session beside those who are not left out.

    Parameters
    ----------
    without
        People, with the note on which nobody is laid beside them (None: on any); their own
        numbers are given all the same.

    Returns
    -------
    mapping
        By note; None for all notes together.

    Notes
    -----
    ``y = a + b g + e``: g is what the others make of a glass, a and b place and width of a
    person's line on a note. b goes by differences within a session, so that a movement is not
    taken for it, and is drawn to one; what the others' mean is unsure of is allowed for. A glass
    whose e stands off its session's middle by t sd weighs ``5 / (4 + t^2)`` (the weight of
    Student's t with four degrees of freedom), so that one exchanged glass moves no session.

    Examples
    --------
    >>> rows = [(f"S{t}", pd.Timestamp("2026-01-06") + pd.Timedelta(weeks=t), who, f"x{s}", "test",
    ...          "smoke", 10.0 * s + (6 * t if who == "A" else 0)) for t in range(2)
    ...         for who in "ABCD" for s in range(5)]
    >>> names = ["session", "held_on", "assessor", "sample", "kind", "descriptor", "score"]
    >>> found = off_others(glasses_of(pd.DataFrame(rows, columns=names), ["smoke"]))
    >>> found[None].off[0].round(1).tolist()
    [-3.0, 3.0]
    """
    left = {
        note: _residuals(table, _kept(glasses.people, note, without))
        for note, table in glasses.notes.items()
    }
    found: dict[str | None, Numbers] = {note: _by_session([part]) for note, part in left.items()}
    if left:
        found[None] = _by_session(list(left.values()))
    return found


def _kept(
    people: Sequence[str], note: str, without: Collection[tuple[str, str | None]]
) -> np.ndarray:
    return np.array([(who, None) not in without and (who, note) not in without for who in people])


def _residuals(table: NoteTable, kept: np.ndarray) -> _Left:
    """What is left of every score once glass, place and width are out; NaN for none."""
    score, there = table.score, ~np.isnan(table.score)
    beside = there & kept[:, None]
    others = beside.sum(axis=0) - beside
    used = there & (others >= LEAST_BESIDE)
    place, width = np.zeros(len(score)), np.ones(len(score))
    noise, weight = np.full(len(score), 100.0), np.ones(score.shape)
    left, glass, sd = np.zeros(score.shape), np.zeros(score.shape), np.zeros(len(score))
    for _ in range(_ROUNDS):
        glass, unsure = _glasses(score, beside, place, width, weight / noise[:, None])
        width, sd = _widths(score, glass, unsure, used, table.at, noise)
        away = score - width[:, None] * glass
        place = _mean(away, used)
        left = np.where(used, away - place[:, None], 0.0)
        inner = _within(left, used, table.at)
        noise = np.maximum(_mean(inner**2, used), _LEAST_SD**2)
        weight = (_TAILS + 1.0) / (_TAILS + inner**2 / noise[:, None])
        middle = place[kept].mean()
        place, width = place - middle, width / width[kept].mean()
    return _Left(np.where(used, left, np.nan), glass, sd, table.at)


def _glasses(
    score: Matrix, beside: np.ndarray, place: Vector, width: Vector, weight: Matrix
) -> tuple[Matrix, Matrix]:
    """What the others make of each glass, one row a person who is not counted in it."""
    worth = np.where(beside, weight * width[:, None] ** 2, 0.0)
    said = np.where(beside, (score - place[:, None]) / width[:, None], 0.0)
    total = worth.sum(axis=0) - worth
    safe = np.where(total > 0.0, total, 1.0)
    return ((worth * said).sum(axis=0) - worth * said) / safe, 1.0 / safe


def _widths(
    score: Matrix, glass: Matrix, unsure: Matrix, used: np.ndarray, at: Matrix, noise: Vector
) -> tuple[Vector, Vector]:
    """Points for one point of the others, by differences within sessions, and one sd of them."""
    own, others = _within(score, used, at), _within(glass, used, at)
    doubt = np.where(used, unsure, 0.0)
    n = np.maximum(used.sum(axis=1), 1)
    spread = np.maximum((others**2).sum(axis=1) / n - doubt.sum(axis=1) / n, 0.0)
    sure = spread[:, None] / np.maximum(spread[:, None] + doubt, 1e-9)
    prior = noise / _SCALE_SD**2
    pull = (own * others * sure).sum(axis=1) + prior
    squares = ((others * sure) ** 2).sum(axis=1) + prior
    return np.clip(pull / squares, 0.2, 5.0), np.sqrt(noise / squares)


def _within(value: Matrix, used: np.ndarray, at: Matrix) -> Matrix:
    """Distances from a person's mean of the session; nought where not used."""
    known = np.where(used, value, 0.0)
    n = used @ at
    means = (known @ at) / np.where(n > 0, n, 1.0)
    found: Matrix = np.where(used, known - means @ at.T, 0.0)
    return found


def _mean(value: Matrix, used: np.ndarray) -> Vector:
    found: Vector = np.where(used, value, 0.0).sum(axis=1) / np.maximum(used.sum(axis=1), 1)
    return found


def _by_session(notes: Sequence[_Left]) -> Numbers:
    """Moderated mean of every person and session, over the glasses of all these notes."""
    left = np.concatenate([note.left for note in notes], axis=1)
    at = np.concatenate([note.at for note in notes])
    used = ~np.isnan(left)
    known = np.where(used, left, 0.0)
    n = used @ at
    inner = _within(left, used, at)
    noise = np.maximum(_mean(inner**2, used), _LEAST_SD**2)
    off = _medians(left, at)
    for _ in range(3):
        away = np.where(used, known - np.nan_to_num(off) @ at.T, 0.0)
        weight = np.where(used, (_TAILS + 1.0) / (_TAILS + away**2 / noise[:, None]), 0.0)
        total = weight @ at
        off = np.where(n > 0, (weight * known) @ at / np.where(n > 0, total, 1.0), np.nan)
    sat = np.maximum((n > 0).sum(axis=1), 1)
    usual = np.where(n > 0, 1.0 / np.maximum(n, 1), 0.0).sum(axis=1) / sat
    lean = np.stack([_lean(note, n) for note in notes], axis=2)
    return Numbers(off, np.where(used.any(axis=1), noise * usual, np.nan), lean)


def _lean(note: _Left, n: Matrix) -> Matrix:
    known = np.where(np.isnan(note.left), 0.0, note.glass)
    found: Matrix = note.width_sd[:, None] * (known @ note.at) / np.maximum(n, 1)
    return found


def _medians(left: Matrix, at: Matrix) -> Matrix:
    found = [row_medians(left[:, here > 0.0]) for here in at.T]
    return np.stack(found, axis=1) if found else np.zeros((len(left), 0))
