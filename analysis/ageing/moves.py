"""Notes moved from the draw that was nosed to another age, with the error that this adds.

What a panel found in a draw holds for the age at which it was drawn. The models of ageing say
how a note at one age goes with the same note at another: with traits ``t ~ N(m, C)`` of a cask
and ``b`` what a point of each counts at an age, a note that is x at the first age has at the
second the mean ``b1' m + k (x - b0' m)``, ``k = b0' C b1 / b0' C b0``, and the variance
``b1' C b1 - k b0' C b1``. The panel's own estimate of the draw stands for x (Jeffrey's rule): at
the age of the draw nothing is changed, further off the models count for more. Averaged over the
ways of growing and fading.

Where the models cannot speak the note stays where it is and its error grows. Past the ages that
were nosed in a wood, and for a cask whose records are wanting, the standard deviation grows each
year by what the note changes in a year elsewhere in the house. For a note without a model it is
what casks differ by, as a wood note would come to it in the middle of the time constants tried.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
import pandas as pd

from analysis.ageing.settings import AgeingSettings
from analysis.array_types import Flags, Matrix, Stack, Vector
from analysis.influences import Fits, NoteFit
from analysis.influences.covariates import NEEDED, why_not
from analysis.influences.note_model import States
from analysis.influences.predict import age_limits
from analysis.influences.terms import STYLE, Points, Way
from analysis.influences.together import together

DRIFT_YEARS = 8.0
"""Years in which a note without a model comes two thirds of the way to what casks differ by."""
_SURE = 1e-9
_STANDS_YEARS = 2.0 / 365.25
"""A draw of yesterday is one of today."""


class Cover(StrEnum):
    """How far the models of ageing could move a cask's notes."""

    MODEL = "by wood, fill, make and own draws"
    KIND = "as casks of its kind"
    BEYOND = "up to the ages nosed in its wood"
    NONE = "no model of its notes"


COVER_NOTES: Mapping[Cover, str] = {
    Cover.KIND: "its records tell too little: its notes are moved as those of casks of its kind",
    Cover.BEYOND: (
        "its age is past those nosed in its wood: its notes are moved up to there, and are less "
        "sure for the rest"
    ),
    Cover.NONE: (
        "nothing is known of how its notes age: they stand as they were nosed, and are less sure "
        "with every year"
    ),
}
"""What to know of a cask that the models do not wholly cover, in words."""


@dataclass(frozen=True)
class Base:
    """What the panel found, a row for each draw, on the 0-100 line but not held to it.

    Attributes
    ----------
    mean
        Shape (n, notes); missing where nothing was found.
    own
        Covariance of each draw's own error, shape (n, notes, notes).
    common
        Variance of the error that all draws share, shape (notes,).
    between
        Variance between draws of any casks, shape (notes,).
    age_years
        When drawn, shape (n,); missing for what was never nosed.
    """

    mean: Matrix
    own: Stack
    common: Vector
    between: Vector
    age_years: Vector


@dataclass(frozen=True)
class AtAges:
    """Notes at some ages: means (n, ages, notes) and own covariances (n, ages, notes, notes)."""

    mean: Stack
    own: Stack


class Moves:
    """Draws, or casks never nosed, whose notes can be put at any age.

    Parameters
    ----------
    fits
        The models of ageing; None where there are none at all.
    descriptors
        Notes, in the order of `base`.
    casks
        A checked draws frame, one row for each row of `base`.
    base
        What the panel found.
    """

    def __init__(
        self,
        fits: Fits | None,
        descriptors: Sequence[str],
        casks: pd.DataFrame,
        base: Base,
        settings: AgeingSettings,
    ) -> None:
        self.fits, self.base, self.casks = fits, base, casks
        self.descriptors = tuple(descriptors)
        found = {} if fits is None else {fit.note.descriptor: fit for fit in fits.fits}
        rows = casks if fits is None else _filled(fits, casks)
        self.full: Flags = why_not(casks).isna().to_numpy(dtype=np.bool_)
        self.notes = tuple(_NoteMove.of(found.get(name), rows, self.full) for name in descriptors)
        present = [note.fit for note in self.notes if note.fit is not None]
        self.together = _correlation(present, self.notes, settings.shared)

    def at(self, ages: Matrix, rows: Sequence[int] | slice = slice(None)) -> AtAges:
        """Put some of the casks at some ages, shape (k, ages)."""
        base = self.base
        mean, variance = base.mean[rows], np.einsum("idd->id", base.own)[rows]
        steps = [
            note.step(rows, base.age_years[rows], ages, mean[:, d], variance[:, d], between)
            for d, (note, between) in enumerate(zip(self.notes, base.between, strict=True))
        ]
        slope = np.stack([step.slope for step in steps], axis=-1)
        added = np.sqrt(np.stack([step.variance for step in steps], axis=-1))
        own = slope[..., :, None] * np.nan_to_num(base.own[rows])[:, None] * slope[..., None, :]
        own += self.together * added[..., :, None] * added[..., None, :]
        return AtAges(np.stack([step.mean for step in steps], axis=-1), own)

    def cover(self, ages: Vector) -> list[Cover]:
        """How far each cask could be moved to an age, on the note where that was least far."""
        order = list(Cover)
        worst = np.zeros(len(ages), dtype=np.intp)
        for note in self.notes:
            worst = np.maximum(worst, note.cover(self.full, ages))
        return [order[place] for place in worst]


@dataclass(frozen=True)
class _Step:
    """Of one note: mean at the new age, what a point at the old one counts, variance added."""

    mean: Matrix
    slope: Matrix
    variance: Matrix


@dataclass(frozen=True)
class _NoteMove:
    """One note of all casks: its model, and the traits way by way."""

    fit: NoteFit | None
    states: tuple[States, ...]
    phenol_ppm: Vector
    low: Vector
    high: Vector
    imputed: Flags
    rate: float = 0.0

    @classmethod
    def of(cls, fit: NoteFit | None, rows: pd.DataFrame, full: Flags) -> _NoteMove:
        blank = np.full(len(rows), np.nan)
        if fit is None:
            return cls(None, (), blank, blank, blank, ~full)
        limits = age_limits(fit.draws)
        ages = fit.draws["age_years"]
        every = float(ages.min()), float(ages.max())
        low, high = (
            np.array([limits.get(str(wood), every) for wood in rows["wood"]]).reshape(-1, 2).T
        )
        ppm = rows["phenol_ppm"].to_numpy(dtype=np.float64)
        return cls(fit, _states(fit, rows), ppm, low, high, ~full, _rate(fit))

    def step(
        self,
        rows: Sequence[int] | slice,
        before: Vector,
        ages: Matrix,
        found: Vector,
        variance: Vector,
        between: float,
    ) -> _Step:
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
        rows: Sequence[int] | slice,
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
        weights, means, slopes, rest = [], [], [], []
        for part, states in zip(fit.note.ways, self.states, strict=True):
            mean, c = states.mean[rows], states.covariance[rows]
            b0 = self._bases(fit, part.way, rows, start)
            b1 = self._bases(fit, part.way, rows, to)
            cross = np.einsum("ial,ilk,iak->ia", b0, c, b1)
            then = np.maximum(np.einsum("ial,ilk,iak->ia", b0, c, b0), _SURE)
            slope = np.where(nothing, 0.0, cross / then)
            after = np.einsum("ial,ilk,iak->ia", b1, c, b1)
            off = np.where(nothing, 0.0, x - np.einsum("ial,il->ia", b0, mean))
            weights.append(part.weight)
            means.append(np.einsum("ial,il->ia", b1, mean) + slope * off)
            slopes.append(slope)
            rest.append(np.maximum(after - slope * cross, 0.0))
        w = np.array(weights)[:, None, None]
        middle, slope = (w * np.array(means)).sum(axis=0), (w * np.array(slopes)).sum(axis=0)
        apart = (w * (np.array(means) - middle) ** 2).sum(axis=0)
        apart += (w * (np.array(slopes) - slope) ** 2).sum(axis=0) * np.nan_to_num(variance)[
            :, None
        ]
        return _Step(fit.note.centre + middle, slope, (w * np.array(rest)).sum(axis=0) + apart)

    def _bases(self, fit: NoteFit, way: Way, rows: Sequence[int] | slice, ages: Matrix) -> Stack:
        ppm = np.broadcast_to(self.phenol_ppm[rows][:, None], ages.shape)
        return fit.note.terms.bases(way, ages.ravel(), ppm.ravel()).reshape(*ages.shape, -1)

    def cover(self, full: Flags, ages: Vector) -> np.ndarray:
        if self.fit is None:
            return np.full(len(ages), list(Cover).index(Cover.NONE))
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


def _filled(fits: Fits, casks: pd.DataFrame) -> pd.DataFrame:
    """Casks as the models take them; what is not on record counts as the middle of the house."""
    rows = fits.stock(casks)
    for name in NEEDED:
        if name not in ("wood", "make", "age_years"):
            rows[name] = rows[name].fillna(float(fits.draws[name].median()))
    return rows


def _states(fit: NoteFit, rows: pd.DataFrame) -> tuple[States, ...]:
    """Traits of all casks: those of the models as they were found, the others by their style.

    Casks outside the models are as many as the house has; styles are few.
    """
    note = fit.note
    units = note.unit_codes(list(rows["filling"]))
    inside = np.flatnonzero(units >= 0)
    points = Points.of(rows, note.terms.levels)
    styles = {name: points.codes[name] for name in points.codes if name in STYLE}
    keys = np.column_stack([*styles.values(), np.zeros(len(rows), dtype=np.intp)])
    _, first, which = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    like = _some(points, first, only=STYLE, abv=note.terms.levels.abv_mid)
    own = _some(points, inside)
    none = np.full(len(first), -1, dtype=np.intp)
    found = []
    for way in note.ways:
        kind = note.states(way, like, none)
        mean, covariance = kind.mean[which.ravel()], kind.covariance[which.ravel()]
        if len(inside):
            mine = note.states(way, own, units[inside])
            mean[inside], covariance[inside] = mine.mean, mine.covariance
        found.append(States(mean, covariance))
    return tuple(found)


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


def _correlation(present: Sequence[NoteFit], notes: Sequence[_NoteMove], shared: float) -> Matrix:
    """How what is added to the notes goes together; a note without a model goes alone."""
    found = np.eye(len(notes))
    at = [d for d, note in enumerate(notes) if note.fit is not None]
    if present:
        found[np.ix_(at, at)] = together(present, shared)
    return found
