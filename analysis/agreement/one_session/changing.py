"""Which glasses of one person may change places with which, and what that comes to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse.csgraph import connected_components

from ...array_types import Codes, Matrix, Vector
from ..indices.additive import additive

if TYPE_CHECKING:
    from .with_panel import Told


def shared(sessions: Sequence[Sequence[Told]]) -> tuple[Matrix, list[Codes]]:
    """Sum over notes of the others' standing on a sample times the person's on another.

    Beside it, the places of the samples that may change places. The person's scores stay where
    they are, with whatever lasting opinion is in them; what changes is which sample they were
    given to. Of a sample that was not there that time stands what the others find of it in other
    sessions, by samples in common: without that, samples that come back by turns would leave
    nothing to change. Its length is of those that were there, which if anything makes chance wide.
    """
    came = _visits(sessions)
    place = {name: at for at, name in enumerate(came)}
    elsewhere = _by_note(sessions, place)
    found = np.zeros((len(came), len(came)))
    for note in (note for notes in sessions for note in notes):
        places = np.array([place.get(name, -1) for name in note.samples])
        known = places >= 0
        own, _ = _standing(note.own[known])
        others, length = _standing(note.others[known])
        there = places[known]
        column = np.zeros(len(came))
        if note.note in elsewhere and length > 0.0:
            column = elsewhere[note.note].from_those(there[~np.isnan(note.others[known])]) / length
        column[there] = others
        found[:, there] += np.outer(column, own)
    return found, _classes(came, place, elsewhere)


def _visits(sessions: Sequence[Sequence[Told]]) -> dict[str, tuple[int, ...]]:
    """The sessions in which the person scored each sample."""
    came: dict[str, tuple[int, ...]] = {}
    for at, notes in enumerate(sessions):
        for name in sorted({name for note in notes for name in note.scored}):
            came[name] = (*came.get(name, ()), at)
    return came


@dataclass(frozen=True)
class _Elsewhere:
    """What the others find of each sample on one note, all sessions together.

    Attributes
    ----------
    columns
        Of each sample; NaN where they found nothing.
    part
        Samples of one number hang together by samples in common; -1 for nothing found.
    """

    columns: Vector
    part: Codes

    def from_those(self, there: Codes) -> Vector:
        """Each sample from the mean of those that were there; 0 where that cannot be told."""
        linked = (self.part >= 0) & (self.part == self.part[there[0]])
        return np.where(linked, self.columns - self.columns[there].mean(), 0.0)


def _by_note(sessions: Sequence[Sequence[Told]], place: Mapping[str, int]) -> dict[str, _Elsewhere]:
    """Session plus sample, note by note; of none where a note has no name to be known again by."""
    rows: dict[str, list[Vector]] = {}
    for note in (note for notes in sessions for note in notes):
        row = np.full(len(place), np.nan)
        for name, value in zip(note.samples, note.others, strict=True):
            if name in place:
                row[place[name]] = value
        rows.setdefault(note.note, []).append(row)
    if "" in rows:
        return {}
    return {name: _elsewhere(np.vstack(table)) for name, table in rows.items()}


def _elsewhere(table: Matrix) -> _Elsewhere:
    there = ~np.isnan(table)
    _, part = connected_components((there.T.astype(int) @ there.astype(int)) > 0, directed=False)
    return _Elsewhere(additive(table).columns, np.where(there.any(axis=0), part, -1))


def _classes(
    came: Mapping[str, tuple[int, ...]],
    place: Mapping[str, int],
    elsewhere: Mapping[str, _Elsewhere],
) -> list[Codes]:
    """Samples poured in one session only keep to it; others go by how often they came.

    A reference that comes each time is not one of those that come by turns: an opinion of it
    counts in every session. And samples change places only where each can be told from the
    other's neighbours, on every note.
    """
    classes: dict[tuple[object, ...], list[int]] = {}
    for name, visits in came.items():
        alike: tuple[object, ...] = visits
        if len(visits) > 1 and elsewhere:
            parts = tuple(int(note.part[place[name]]) for note in elsewhere.values())
            alike = ("by turns", len(visits), parts)
        classes.setdefault(alike, []).append(place[name])
    return [np.array(part) for part in classes.values()]


def _standing(values: Vector) -> tuple[Vector, float]:
    """About their mean and of length one, and the length; 0 where there is none, or all are one."""
    there = ~np.isnan(values)
    centred = np.where(there, values - values[there].mean(), 0.0) if there.any() else 0.0 * values
    centred = np.nan_to_num(centred)
    length = float(np.sqrt(centred @ centred))
    return (centred / length, length) if length > 1e-9 else (np.zeros(len(values)), 0.0)


@lru_cache(maxsize=8)
def every_order(n: int) -> np.ndarray:
    """All orders of so many."""
    return np.array(list(permutations(range(n))), dtype=np.intp)


@lru_cache(maxsize=64)
def drawn_orders(n: int, number: int, seed: int) -> np.ndarray:
    """So many orders, drawn."""
    return np.argsort(np.random.default_rng([seed, n]).random((number, n)), axis=1)
