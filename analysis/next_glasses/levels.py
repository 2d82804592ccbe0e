"""Levels of a record, how well the house knows what casks of each are, and what a glass adds."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import pandas as pd

from ..array_types import Codes, Floats, Matrix, Stack, Vector
from .panel import PanelNoise

_AS_OFTEN = np.sqrt(2.0 / np.pi)
_PPM = (3.0, 15.0, 30.0)
"""Malt phenols that part the classes of peat."""
_PEAT = ("to 3 ppm", "3 to 15 ppm", "15 to 30 ppm", "over 30 ppm")
_LEAST_OWN = 0.2
"""Least share of what casks differ by that is their own, whatever few levels seem to explain."""
_LEAST = 1e-9


class Record(StrEnum):
    """A record whose levels are compared, by its column in a casks frame."""

    WOOD = "wood"
    FILL = "fill_number"
    PEAT = "phenol_ppm"
    MAKE = "make"
    SITE = "site"
    WAREHOUSE = "warehouse"


def level_of(casks: pd.DataFrame, record: Record) -> pd.Series:
    """The level of each cask; missing where it is not on record.

    Examples
    --------
    >>> casks = pd.DataFrame({"phenol_ppm": [1.0, 22.0, float("nan")], "fill_number": [1, 2, 2]})
    >>> level_of(casks, Record.PEAT).tolist(), level_of(casks, Record.FILL).tolist()
    (['to 3 ppm', '15 to 30 ppm', None], ['1', '2', '2'])
    """
    if record.value not in casks.columns:
        return pd.Series(None, index=casks.index, dtype="object")
    column = casks[record.value]
    if record is Record.PEAT:
        ppm = pd.to_numeric(column, errors="coerce")
        classes = np.digitize(ppm.to_numpy(dtype=np.float64), _PPM, right=True)
        said: list[str | None] = [_PEAT[place] for place in classes]
    elif record is Record.FILL:
        numbers = pd.to_numeric(column, errors="coerce").fillna(0).astype("int64")
        said = [str(number) for number in numbers.tolist()]
    else:
        said = [str(value) for value in column.tolist()]
    found = pd.Series(said, index=casks.index, dtype="object")
    return found.where(column.notna(), None)


@dataclass(frozen=True, eq=False)
class Levels:
    """How well each level is known on each note.

    Attributes
    ----------
    names, levels
        Levels of the record, and of each cask its place among them.
    own
        Variance of casks of one level, (notes,).
    across
        Variance of the levels, (notes,).
    told
        What glasses so far tell of each cask, in 1 / points squared, (casks, notes).
    """

    casks: tuple[str, ...]
    names: tuple[str, ...]
    level: Codes
    notes: tuple[str, ...]
    own: Vector
    across: Vector
    told: Matrix

    def precision(self, told: Matrix) -> Matrix:
        """Of the mean of each level, (levels, notes)."""
        found = np.tile(1.0 / np.maximum(self.across, _LEAST), (len(self.names), 1))
        np.add.at(found, self.level, of_cask(told, self.own))
        return found


def of_cask(told: Floats, own: Vector) -> Floats:
    """What a cask tells of its level: ``1 / (own + 1 / told)``.

    However often it is nosed, it stays one cask.
    """
    found: Floats = told / (1.0 + own * told)
    return found


def levels_known(
    casks: tuple[str, ...],
    level: pd.Series,
    notes: tuple[str, ...],
    mean: Matrix,
    between: Vector,
    told: Matrix,
) -> Levels:
    """Part what casks differ by into levels and the casks' own.

    Parameters
    ----------
    mean
        Notes of the casks, (casks, notes).
    between
        Variance between casks of the house, (notes,).
    told
        What glasses tell of each cask, (casks, notes).
    """
    codes, names = pd.factorize(level)
    nosed = told.max(axis=1) > 0.0
    across = np.zeros(len(notes))
    groups = [np.flatnonzero((codes == k) & nosed) for k in range(len(names))]
    some = [rows for rows in groups if len(rows)]
    if len(some) > 1:
        means = np.array([mean[rows].mean(axis=0) for rows in some])
        luck = np.mean([1.0 / len(rows) for rows in some])
        across = np.maximum(means.var(axis=0, ddof=1) - luck * between, 0.0)
    most = (1.0 - _LEAST_OWN) * between
    across = np.clip(across, 0.05 * between, np.maximum(most, _LEAST))
    own = np.maximum(between - across, _LEAST)
    return Levels(
        casks, tuple(str(n) for n in names), codes.astype(np.intp), notes, own, across, told
    )


class LevelWeighing:
    """What glasses are worth to the levels of a record (see `fill.Weighing`), points."""

    coupled = True

    def __init__(self, levels: Levels, panel: PanelNoise, counts: Stack) -> None:
        self.levels, self.panel, self.names = levels, panel, levels.casks
        self.counts, self.told = counts.copy(), levels.told.copy()
        self.precision = levels.precision(self.told)

    def most(self) -> Vector:
        """What knowing each cask for certain would add."""
        held = self.levels
        more = 1.0 / held.own - of_cask(self.told, held.own)
        return self._value(self.precision[held.level], more)

    def _value(self, precision: Floats, more: Floats) -> Floats:
        fall = 1.0 / np.sqrt(precision) - 1.0 / np.sqrt(precision + np.maximum(more, 0.0))
        found: Floats = _AS_OFTEN * fall.mean(axis=-1) / len(self.levels.names)
        return found

    def gains(self, rows: Codes) -> Matrix:
        """What one more glass of some casks adds by each person."""
        held, before = self.levels, self.counts[rows]
        glass = self.panel.information(before + 1.0) - self.panel.information(before)
        told = self.told[rows][:, None]
        more = of_cask(told + glass, held.own) - of_cask(told, held.own)
        return self._value(self.precision[held.level[rows]][:, None], more)

    def pour(self, row: int, assessor: int) -> None:
        """Count a glass."""
        held, before = self.levels, self.counts[row]
        glass = self.panel.information(before + 1.0) - self.panel.information(before)
        was = of_cask(self.told[row], held.own)
        self.told[row] += glass[assessor]
        self.counts[row, assessor] += 1.0
        self.precision[held.level[row]] += of_cask(self.told[row], held.own) - was

    def errors(self) -> Matrix:
        """By how much the mean of each level is expected to be wrong, (levels, notes)."""
        found: Matrix = _AS_OFTEN / np.sqrt(self.precision)
        return found
