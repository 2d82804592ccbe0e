"""Chances of casks on the lines of a target at any age, by the spread that their house shows.

What `match` says of a cask on a day is said here of the same cask on that day: both ask
`analysis.target.chance_of_casks`, and a cask is bent by what it was when it was nosed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..array_types import Codes, Flags, Matrix, Stack, Vector
from ..profile.bends import Bends, bends_of
from ..target import Target, chance_of_casks
from .deciding import LEAST_YEARS, turned

if TYPE_CHECKING:
    from .on_day import NotesOnDay


@dataclass(frozen=True, eq=False)
class Spread:
    """How some casks are spread on the lines of a target.

    Attributes
    ----------
    columns
        Of each line, among the notes that were moved.
    common
        Variance of the error that all casks share on each line.
    bends
        Of the draws that were nosed, and of a cask that never was; None where all count as normal.
    rows
        Which of these each of the casks is.
    """

    target: Target
    columns: Sequence[int]
    common: Vector
    bends: Bends | None
    rows: Codes

    @classmethod
    def of(
        cls, notes: NotesOnDay, target: Target, fillings: Sequence[str], house: Sequence[str]
    ) -> Spread:
        """Lay some casks into the spread of their house.

        Parameters
        ----------
        house
            The draws that tell of it, the one that stands for each cask.
        """
        lines = [line.descriptor for line in target.lines]
        columns = [notes.descriptors.index(name) for name in lines]
        drawn = [notes.moved[name].sample if name in notes.moved else "" for name in fillings]
        row = {name: k for k, name in enumerate(dict.fromkeys(drawn))}
        return cls(
            target=target,
            columns=columns,
            common=notes.moves.base.common[columns],
            bends=bends_of(notes.profile.posterior, list(row), lines, house),
            rows=np.array([row[name] for name in drawn], dtype=np.intp),
        )

    def chance(self, mean: Matrix, own: Stack, casks: Codes | None = None) -> Vector:
        """Chance that every line is within tolerance, on one day or on many.

        Parameters
        ----------
        mean, own
            Of all notes that were moved, points, (n, notes) and (n, notes, notes).
        casks
            Which of the casks each is; each of them once by default.
        """
        rows = self.rows if casks is None else self.rows[casks]
        estimate = mean[:, self.columns]
        error = own[:, self.columns][:, :, self.columns]
        if self.bends is not None:
            estimate, error = self.bends.shaped(estimate, error, rows)
        held = _Held(estimate, error, self.common, self.bends)
        return chance_of_casks(self.target, held, rows=rows)


def deciding_casks(
    notes: NotesOnDay,
    target: Target,
    fillings: Sequence[str],
    told: Vector,
    house: Sequence[str],
) -> Flags:
    """Which casks' chances to meet a target hang on the years since they were drawn.

    The chance that is told is laid beside that of the cask as it was when it was nosed.

    Parameters
    ----------
    fillings
        Casks that were nosed on every line.
    told
        The chance of each on the day.
    house
        As in :meth:`Spread.of`.
    """
    years = np.array([notes.moved[name].years for name in fillings])
    old = np.flatnonzero(years >= LEAST_YEARS)
    names = [fillings[k] for k in old.tolist()]
    places, base = [notes.places[name] for name in names], notes.moves.base
    nosed = Spread.of(notes, target, names, house).chance(base.mean[places], base.own[places])
    found = np.zeros(len(years), dtype=np.bool_)
    found[old] = turned(told[old], nosed)
    return found


@dataclass(frozen=True, eq=False)
class _Held:
    """Casks on the lines of a target, see `analysis.target.bent.OnLines`."""

    estimate: Matrix
    own: Stack
    common: Vector
    bends: Bends | None
