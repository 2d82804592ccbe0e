"""One note moved from age to age: what a draw of one day tells of another, way by way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from ..array_types import Codes, Flags, Matrix, Stack, Vector
from ..days import DAYS_A_YEAR
from ..influences import NoteFit
from ..influences.note_model import NoteModel, States, Weighed
from ..influences.predict import age_limits
from ..influences.terms import STYLE, Groups, Points, Way
from .cover import Cover

Rows = Codes | Sequence[int] | slice
"""Some of the casks."""
DRIFT_YEARS = 8.0
"""Years in which a note without a model comes two thirds of the way to what casks differ by."""
_SURE = 1e-9
_STANDS_YEARS = 2.0 / DAYS_A_YEAR
"""A draw of yesterday is one of today."""


@dataclass(frozen=True)
class _Step:
    """Of one note: mean at the new age, what a point at the old one counts, variance added."""

    mean: Matrix
    slope: Matrix
    variance: Matrix


class LaidOut:
    """Casks as the models take them, their groups looked up once for all notes of like draws."""

    def __init__(self, rows: pd.DataFrame) -> None:
        self.rows = rows
        self.phenol_ppm: Vector = rows["phenol_ppm"].to_numpy(dtype=np.float64)
        self.fillings = [str(name) for name in rows["filling"]]
        self.pooled = Groups.of(rows)
        self._groups: dict[int, _Groups] = {}

    def groups(self, fit: NoteFit) -> _Groups:
        """Which style each cask is of, and which are in the models themselves."""
        if fit.pattern not in self._groups:
            self._groups[fit.pattern] = _Groups.of(fit, self)
        return self._groups[fit.pattern]

    def limits(self, fit: NoteFit) -> tuple[Vector, Vector]:
        """From which to which age each cask may be spoken of."""
        known, ages = age_limits(fit.draws), fit.draws["age_years"]
        every = float(ages.min()), float(ages.max())
        codes, woods = pd.factorize(self.rows["wood"])
        each = np.array([known.get(str(wood), every) for wood in woods]).reshape(-1, 2)
        return each[codes, 0], each[codes, 1]


@dataclass(frozen=True)
class _Groups:
    """Styles, then the casks of the models: `which` of them each cask goes by."""

    styles: Points
    inside: Points
    units: Codes
    which: Codes

    @classmethod
    def of(cls, fit: NoteFit, laid: LaidOut) -> _Groups:
        note = fit.note
        units = note.unit_codes(laid.fillings)
        inside = np.flatnonzero(units >= 0)
        points = Points.of(laid.rows, note.terms.levels, laid.pooled)
        keys = np.zeros(len(laid.rows), dtype=np.intp)
        for name in (name for name in points.codes if name in STYLE):
            keys = keys * (len(note.terms.levels.names[name]) + 1) + points.codes[name] + 1
        _, first, which = np.unique(keys, return_index=True, return_inverse=True)
        which = which.astype(np.intp)
        which[inside] = len(first) + np.arange(len(inside))
        return cls(
            styles=_some(points, first, only=STYLE, abv=note.terms.levels.abv_mid),
            inside=_some(points, inside),
            units=units[inside],
            which=which,
        )

    def states(self, note: NoteModel, way: Weighed) -> States:
        """Traits of the styles, then those of the casks of the models."""
        kind = note.states(way, self.styles, np.full(self.styles.n, -1, dtype=np.intp))
        if not self.inside.n:
            return kind
        mine = note.states(way, self.inside, self.units)
        return States(
            np.concatenate([kind.mean, mine.mean]),
            np.concatenate([kind.covariance, mine.covariance]),
        )


@dataclass(frozen=True)
class NoteMove:
    """One note of all casks: its model, and the traits way by way.

    Casks outside the models are as many as the house has and go by their style; those in the
    models go as they were found. `states` holds both, `which` says which is a cask's.
    """

    fit: NoteFit | None
    states: tuple[States, ...]
    which: Codes
    phenol_ppm: Vector
    low: Vector
    high: Vector
    imputed: Flags
    rate: float = 0.0

    @classmethod
    def of(cls, fit: NoteFit | None, laid: LaidOut, full: Flags) -> NoteMove:
        """Prepare a note; without a fit it can only stand where it was."""
        if fit is None:
            blank = np.full(len(full), np.nan)
            return cls(None, (), np.zeros(0, dtype=np.intp), blank, blank, blank, ~full)
        groups = laid.groups(fit)
        low, high = laid.limits(fit)
        return cls(
            fit=fit,
            states=tuple(groups.states(fit.note, way) for way in fit.note.ways),
            which=groups.which,
            phenol_ppm=laid.phenol_ppm,
            low=low,
            high=high,
            imputed=~full,
            rate=_rate(fit),
        )

    def step(
        self,
        rows: Rows,
        before: Vector,
        ages: Matrix,
        found: Vector,
        variance: Vector,
        between: float,
    ) -> _Step:
        """Move some of the casks to some ages, from what was found `before`."""
        known = ~np.isnan(found)
        first = np.where(np.isnan(before), ages[:, 0], before)
        if self.fit is None:
            return _stay(found[:, None], known, ages, first, between)
        low, high = self.low[rows][:, None], self.high[rows][:, None]
        start = np.clip(first[:, None], low, high)
        to = np.where(known[:, None], np.clip(ages, low, high), ages)
        moved = self._by_ways(rows, start, to, found, variance)
        years = np.abs(ages - first[:, None])
        lost = np.where(self.imputed[rows][:, None], years, years - np.abs(to - start))
        more = np.where(known[:, None], (self.rate * np.maximum(lost, 0.0)) ** 2, 0.0)
        return replace(moved, variance=moved.variance + more)

    def _by_ways(
        self,
        rows: Rows,
        start: Matrix,
        to: Matrix,
        found: Vector,
        variance: Vector,
    ) -> _Step:
        """The average over the ways; what was never found is foretold by its traits alone."""
        fit = self.fit
        if fit is None:
            raise ValueError("a note without a model cannot be moved by its ways")
        x = found[:, None] - fit.note.centre
        nothing = np.isnan(x)
        which = self.which[rows]
        sums = np.zeros((5, *to.shape))
        for part, states in zip(fit.note.ways, self.states, strict=True):
            traits, c = states.mean[which], states.covariance[which]
            b0 = self._bases(fit, part.way, rows, start)
            b1 = self._bases(fit, part.way, rows, to)
            with_c = b0 @ c
            cross = (with_c * b1).sum(axis=-1)
            then = np.maximum((with_c * b0).sum(axis=-1), _SURE)
            slope = np.where(nothing, 0.0, cross / then)
            off = np.where(nothing, 0.0, x - np.einsum("ial,il->ia", b0, traits))
            mean = np.einsum("ial,il->ia", b1, traits) + slope * off
            rest = np.maximum(((b1 @ c) * b1).sum(axis=-1) - slope * cross, 0.0)
            sums += part.weight * np.stack([mean, slope, rest, mean**2, slope**2])
        middle, slope, rest, squares, slopes = sums
        apart = np.maximum(squares - middle**2, 0.0)
        apart += np.maximum(slopes - slope**2, 0.0) * np.nan_to_num(variance)[:, None]
        return _Step(fit.note.centre + middle, slope, rest + apart)

    def _bases(self, fit: NoteFit, way: Way, rows: Rows, ages: Matrix) -> Stack:
        ppm = np.broadcast_to(self.phenol_ppm[rows][:, None], ages.shape)
        return fit.note.terms.bases(way, ages.ravel(), ppm.ravel()).reshape(*ages.shape, -1)

    def cover(self, full: Flags, ages: Vector) -> Codes:
        """How far each cask could be moved to an age, by its place among the covers."""
        if self.fit is None:
            return np.full(len(ages), list(Cover).index(Cover.NONE), dtype=np.intp)
        inside = (ages >= self.low - _STANDS_YEARS) & (ages <= self.high + _STANDS_YEARS)
        kinds = np.where(full, list(Cover).index(Cover.MODEL), list(Cover).index(Cover.KIND))
        return np.where(inside, kinds, list(Cover).index(Cover.BEYOND))


def _rate(fit: NoteFit) -> float:
    """What a note changes in a year, root mean square over the draws at their ages."""
    note = fit.note
    points = Points.of(fit.draws, note.terms.levels)
    traits = note.terms.traits(points)
    change = np.zeros(points.n)
    for part in note.ways:
        ages = np.maximum(points.age_years, 1.0)
        grown = note.terms.bases(part.way, ages, points.phenol_ppm)
        grown -= note.terms.bases(part.way, ages - 1.0, points.phenol_ppm)
        change += part.weight * np.einsum("il,il->i", grown, traits @ part.solution.coefficients)
    return float(np.sqrt((change**2).mean()))


def _stay(found: Matrix, known: Flags, ages: Matrix, first: Vector, between: float) -> _Step:
    """A note without a model: where it was, with an error that grows."""
    more = _forgotten(np.abs(ages - first[:, None]), between)
    one = np.where(known[:, None], np.ones_like(ages), 0.0)
    return _Step(np.broadcast_to(found, ages.shape).copy(), one, more)


def _forgotten(years: Matrix, between: float) -> Matrix:
    """Variance of how far a note without a model may have gone."""
    found: Matrix = between * np.expm1(-np.maximum(years, 0.0) / DRIFT_YEARS) ** 2
    return found


def _some(
    points: Points, rows: np.ndarray, only: Sequence[str] | None = None, abv: float | None = None
) -> Points:
    codes = {
        name: code[rows] if only is None or name in only else np.full(len(rows), -1, dtype=np.intp)
        for name, code in points.codes.items()
    }
    fill = points.fill_abv[rows] if abv is None else np.full(len(rows), abv)
    return Points(
        points.age_years[rows], points.phenol_ppm[rows], fill, codes, points.age_when_nosed[rows]
    )
