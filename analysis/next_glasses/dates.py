"""When casks come within a target, how surely that date is known, and what a glass tells of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..ageing import AgeingSettings, NotesOnDay
from ..ageing.windows import window_dates
from ..array_types import Codes, Floats, Matrix, Stack, Vector
from ..days import DAYS_A_YEAR
from ..target import Target
from ..target.off import squared_off
from .inverse import inverse_of
from .panel import PanelNoise

_DRAWS = 512
_AT_ONCE = 64
_AS_OFTEN = np.sqrt(2.0 / np.pi)
"""Mean error of a normal, in standard deviations."""
_LEAST = 1e-9


@dataclass(frozen=True, eq=False)
class Dates:
    """Dates on which casks come within a target.

    Attributes
    ----------
    names, notes
        Casks, and lines of the target.
    own
        Covariance of what is known of each cask on the day, (casks, notes, notes).
    years
        From the day to the date expected, the end of what is looked at where that is not before.
    variance
        Of the date, in years squared.
    slope
        By how many years a point of each note now moves the date, (casks, notes).
    within
        Chance that a cask comes within the target before the end of what is looked at.
    horizon
        How far is looked, years.
    """

    names: tuple[str, ...]
    notes: tuple[str, ...]
    own: Stack
    years: Vector
    variance: Vector
    slope: Matrix
    within: Vector
    horizon: float

    @property
    def errors(self) -> Vector:
        """By how much each date is expected to be wrong, years."""
        found: Vector = _AS_OFTEN * np.sqrt(self.variance)
        return found


def dates_of(
    notes: NotesOnDay,
    target: Target,
    casks: Sequence[str],
    fillings: Sequence[str],
    settings: AgeingSettings,
    seed: int,
) -> Dates:
    """Find when casks come within a target, by draws of what they are and of how they go on.

    The date is the first of those looked at on which the root mean square of the lines is within
    a tolerance. How it hangs on what the cask is now is a straight line through the draws.
    """
    moves = notes.moves
    columns = np.array([moves.descriptors.index(line.descriptor) for line in target.lines])
    steps = np.array(
        [(day - notes.day).days / DAYS_A_YEAR for day in window_dates(notes.day, settings)]
    )
    places = np.array([notes.places[name] for name in fillings], dtype=np.intp)
    rng = np.random.default_rng(seed)
    parts = [
        _of_some(notes, target, columns, steps, places[start : start + _AT_ONCE], rng)
        for start in range(0, len(places), _AT_ONCE)
    ]
    own, years, variance, slope, within = (
        np.concatenate([part[k] for part in parts]) for k in range(5)
    )
    lines = tuple(line.descriptor for line in target.lines)
    return Dates(tuple(casks), lines, own, years, variance, slope, within, float(steps[-1]))


def _of_some(
    notes: NotesOnDay,
    target: Target,
    columns: Codes,
    steps: Vector,
    places: Codes,
    rng: np.random.Generator,
) -> tuple[Floats, ...]:
    moves = notes.moves
    ages = moves.casks["age_years"].to_numpy(dtype=np.float64)[places][:, None] + steps
    at = moves.at(ages, places)
    mean = at.mean[..., columns]
    own = at.own[..., columns, :][..., columns]
    now = own[:, 0] + _LEAST * np.eye(len(columns))
    root = np.linalg.cholesky(now)
    drawn = np.einsum(
        "ide,ise->isd", root, rng.standard_normal((len(places), _DRAWS, len(columns)))
    )
    kept, more = _going_on(own, np.maximum(at.added[..., columns], 0.0))
    shaken = rng.standard_normal((len(places), _DRAWS, len(columns)))
    then = mean[:, None] + kept[:, None] * drawn[:, :, None] + more[:, None] * shaken[:, :, None]
    inside = squared_off(target, then) <= 1.0
    met = inside.any(axis=2)
    when = np.where(met, steps[inside.argmax(axis=2)], steps[-1])
    years, variance = when.mean(axis=1), when.var(axis=1)
    off = drawn - drawn.mean(axis=1, keepdims=True)
    spread = np.einsum("isd,ise->ide", off, off) / _DRAWS
    with_date = np.einsum("isd,is->id", off, when - years[:, None]) / _DRAWS
    slope = np.linalg.solve(spread, with_date[..., None])[..., 0]
    return now, years, variance, slope, met.mean(axis=1)


def _going_on(own: Stack, added: Stack) -> tuple[Floats, Floats]:
    """What is left of an error of today on each date, and the sd of what comes to it by then."""
    each = np.einsum("itdd->itd", own)
    new = np.maximum(added - added[:, :1], 0.0)
    old = np.maximum(each - new, 0.0)
    kept = np.sqrt(old / np.maximum(old[:, :1], _LEAST))
    return kept, np.sqrt(new)


class DateWeighing:
    """What glasses are worth to the dates of casks (see `fill.Weighing`), years a cask."""

    coupled = False

    def __init__(self, dates: Dates, panel: PanelNoise, counts: Stack) -> None:
        self.dates, self.panel, self.names = dates, panel, dates.names
        self.counts = counts.copy()
        self.inverse: Stack = inverse_of(dates.own)
        self.after: Vector = dates.variance.copy()

    def most(self) -> Vector:
        """What knowing each cask for certain would add."""
        told = np.einsum("id,ide,ie->i", self.dates.slope, self.dates.own, self.dates.slope)
        left = np.maximum(self.dates.variance - told, 0.0)
        return self._value(self.dates.variance, left)

    def _value(self, before: Floats, after: Floats) -> Floats:
        found: Floats = _AS_OFTEN * (np.sqrt(before) - np.sqrt(np.minimum(after, before)))
        return found / max(len(self.names), 1)

    def _left(self, row: int, inverse: Floats) -> Floats:
        slope = self.dates.slope[row]
        told = self.dates.own[row] - inverse_of(inverse)
        found: Floats = self.dates.variance[row] - np.einsum("d,...de,e->...", slope, told, slope)
        return np.maximum(found, 0.0)

    def _more(self, row: int) -> Matrix:
        before = self.counts[row]
        found: Matrix = self.panel.information(before + 1.0) - self.panel.information(before)
        return found

    def variances(self, rows: Codes) -> Matrix:
        """Variance of each date after one more glass by each person, (rows, people)."""
        notes = np.eye(len(self.dates.notes))
        found = [
            self._left(int(row), self.inverse[row] + self._more(int(row))[:, :, None] * notes)
            for row in rows
        ]
        return np.array(found).reshape(len(rows), len(self.panel.assessors))

    def gains(self, rows: Codes) -> Matrix:
        """What one more glass of some casks adds by each person, years."""
        return self._value(self.after[rows][:, None], self.variances(rows))

    def pour(self, row: int, assessor: int) -> None:
        """Count a glass."""
        self.inverse[row] += np.diag(self._more(row)[assessor])
        self.counts[row, assessor] += 1.0
        self.after[row] = min(self.after[row], float(self._left(row, self.inverse[row])))
