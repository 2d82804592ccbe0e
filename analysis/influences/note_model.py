"""The model of one descriptor, averaged over the ways of growing and fading."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
import pandas as pd

from ..array_types import Codes, Matrix, Stack, Vector
from .climb import ENOUGH
from .known_noise import Columns, KnownNoiseModel, TraitSolution
from .layout import TraitLayout
from .settings import InfluenceSettings
from .terms import STYLE, Levels, Points, Terms, Way

HOPELESS = -6.0
"""Log-likelihood below the best at which a time constant or half-life is not tried further."""
LEAST_WEIGHT = 0.02
"""A way of growing less likely than this, beside the likeliest, is left out of the average."""
ROUGHLY = 1e-2
"""Log-likelihood within which the variances are found by which the ways are first compared."""


@dataclass(frozen=True)
class Weighed:
    """One way with its share in the average."""

    way: Way
    weight: float
    solution: TraitSolution


@dataclass(frozen=True)
class Likeliest:
    """Log variances of a model where it is likeliest, and the ways it is averaged over."""

    variances: Vector
    ways: tuple[Way, ...]
    weights: tuple[float, ...]


@dataclass(frozen=True)
class States:
    """Traits of some casks in one way: means (n, traits) and covariances (n, traits, traits)."""

    mean: Matrix
    covariance: Stack

    def at(self, bases: Matrix) -> tuple[Vector, Vector]:
        """Mean and variance of the note where the traits count `bases`, one row a cask."""
        variance = np.einsum("il,ilk,ik->i", bases, self.covariance, bases)
        return np.einsum("il,il->i", bases, self.mean), variance


@dataclass(frozen=True)
class NoteModel:
    """What the readings of one descriptor say, in points of the 0-100 line.

    Attributes
    ----------
    centre
        Mean of the readings; the model is of what lies above and below it.
    units
        The fillings that were nosed, in the order of the model's own codes.
    inflation
        What standard deviations are multiplied by: readings that the model foretold without
        their cask were so much further off than it said (1 where they were not).
    """

    descriptor: str
    terms: Terms
    ways: tuple[Weighed, ...]
    centre: float
    units: tuple[str, ...]
    models: tuple[KnownNoiseModel, ...]
    inflation: float = 1.0

    @property
    def best(self) -> Weighed:
        """The way with most weight."""
        return max(self.ways, key=lambda weighed: weighed.weight)

    def unit_codes(self, fillings: Sequence[str]) -> Codes:
        """Codes of fillings, -1 for one that was never nosed."""
        place = {name: code for code, name in enumerate(self.units)}
        return np.array([place.get(name, -1) for name in fillings], dtype=np.intp)

    def states(self, weighed: Weighed, points: Points, units: Codes) -> States:
        """Traits of single casks: those nosed as they were found, the others as their like."""
        solution = weighed.solution
        rows = self.terms.traits(points)
        mean = np.zeros(rows.shape[:2])
        own = np.broadcast_to(np.diag(solution.own_prior), (points.n, *rows.shape[1:2] * 2)).copy()
        nosed = units >= 0
        at = units[nosed]
        constant, slope = solution.own(at)
        rows[nosed] -= slope
        mean[nosed] += constant
        own[nosed] = solution.own_covariance[at]
        own += _diagonal(self.terms.unseen(points, solution.log_variances))
        mean += rows @ solution.coefficients
        spread = _between_traits(rows, solution.covariance)
        return States(mean, (own + spread) * self.inflation**2)

    def style_states(self, weighed: Weighed, points: Points) -> States:
        """Traits of the average of such casks: nothing particular to one in them.

        Groups other than wood, fill and make that are not given count as their average.
        """
        rows, solution = self.terms.traits(points), weighed.solution
        spread = _between_traits(rows, solution.covariance)
        spread += _diagonal(self.terms.unseen(points, solution.log_variances, STYLE))
        return States(rows @ solution.coefficients, spread)

    def foretell(self, points: Points, units: Codes) -> tuple[Vector, Vector]:
        """Mean and standard deviation of the note of single casks at the points' ages."""
        found = [
            (weighed.weight, *self.states(weighed, points, units).at(self._bases(weighed, points)))
            for weighed in self.ways
        ]
        return self._mixed(found)

    def contrasts(self, rows: Callable[[Way], Matrix]) -> tuple[Vector, Vector]:
        """Means and standard deviations of weighted sums of the coefficients.

        Parameters
        ----------
        rows
            Gives the weights in one way of growing, shape (sums, m).
        """
        found = []
        for part in self.ways:
            w, solution = rows(part.way), part.solution
            variance = np.einsum("im,im->i", w @ solution.covariance, w)
            found.append((part.weight, w @ solution.coefficients, variance))
        return mixture(found)

    def cask_sd(self, age_years: float, phenol_ppm: float) -> float:
        """Standard deviation between casks alike in everything known, at some age."""
        age, ppm = np.array([age_years]), np.array([phenol_ppm])
        variance = 0.0
        for part in self.ways:
            bases = self.terms.bases(part.way, age, ppm)
            variance += part.weight * float((bases**2 @ part.solution.own_prior)[0])
        return float(np.sqrt(variance))

    def _bases(self, weighed: Weighed, points: Points) -> Matrix:
        return self.terms.bases(weighed.way, points.age_years, points.phenol_ppm)

    def _mixed(self, found: list[tuple[float, Vector, Vector]]) -> tuple[Vector, Vector]:
        mean, sd = mixture(found)
        return self.centre + mean, sd


def _between_traits(rows: Stack, covariance: Matrix) -> Stack:
    """Covariance of the traits of each cask that make them up by `rows`; one product for all."""
    n, traits, columns = rows.shape
    weighed = (rows.reshape(n * traits, columns) @ covariance).reshape(rows.shape)
    found: Stack = weighed @ rows.transpose(0, 2, 1)
    return found


def mixture(found: Sequence[tuple[float, Vector, Vector]]) -> tuple[Vector, Vector]:
    """Mean and standard deviation of a mixture, from weights, means and variances.

    Examples
    --------
    >>> one, other = np.array([10.0]), np.array([20.0])
    >>> mean, sd = mixture([(0.5, one, np.array([9.0])), (0.5, other, np.array([9.0]))])
    >>> mean.tolist(), sd.round(3).tolist()
    ([15.0], [5.831])
    """
    weight = np.array([part[0] for part in found])
    means = np.array([part[1] for part in found])
    variances = np.array([np.broadcast_to(part[2], part[1].shape) for part in found])
    mean = np.tensordot(weight, means, axes=1)
    variance = np.tensordot(weight, variances + (means - mean) ** 2, axes=1)
    return mean, np.sqrt(variance)


def _diagonal(values: Matrix) -> Stack:
    return values[:, :, None] * np.eye(values.shape[1])


class NoteFitter:
    """Draws with their columns, ready to fit any descriptor that was read on them."""

    def __init__(self, draws: pd.DataFrame, levels: Levels, settings: InfluenceSettings) -> None:
        self.draws, self.settings = draws, settings
        self.terms = Terms(levels)
        self.points = Points.of(draws, levels)
        codes, names = pd.factorize(draws["filling"])
        self.unit, self.units = codes.astype(np.intp), tuple(str(name) for name in names)
        first = draws.drop_duplicates("filling").reset_index(drop=True)
        self.layout = TraitLayout(self.terms.traits(Points.of(first, levels)))
        self.columns: Columns = self.terms.columns

    def search(self, reading: Vector, noise_variance: Vector) -> Likeliest:
        """Find the variances of one descriptor where it is likeliest, then weigh every way.

        The variances are found at the likeliest way; the ways are weighed by likelihood at
        these variances, times the weak prior of the half-life.
        """
        at = _Search(self, reading - _centre(reading, noise_variance), noise_variance)
        return at.weigh()

    def fit(
        self, descriptor: str, reading: Vector, noise_variance: Vector, found: Likeliest
    ) -> NoteModel:
        """Solve the model of one descriptor where it was found to be likeliest."""
        centre = _centre(reading, noise_variance)
        at = _Search(self, reading - centre, noise_variance)
        models = tuple(at.model(way) for way in found.ways)
        return NoteModel(
            descriptor=descriptor,
            terms=self.terms,
            ways=tuple(
                Weighed(way, weight, model.solve(found.variances))
                for way, weight, model in zip(found.ways, found.weights, models, strict=True)
            ),
            centre=centre,
            units=self.units,
            models=models,
        )


def _centre(reading: Vector, noise_variance: Vector) -> float:
    return float(np.average(reading, weights=1.0 / (noise_variance + reading.var())))


class _Search:
    """Ways tried on one descriptor."""

    def __init__(self, fitter: NoteFitter, y: Vector, noise_variance: Vector) -> None:
        self.fitter, self.y, self.noise_variance = fitter, y, noise_variance
        self.settings = fitter.settings

    def model(self, way: Way) -> KnownNoiseModel:
        f = self.fitter
        bases = f.terms.bases(way, f.points.age_years, f.points.phenol_ppm)
        return KnownNoiseModel(self.y, self.noise_variance, bases, f.unit, f.layout, f.columns)

    def weigh(self) -> Likeliest:
        half_lives = self.settings.half_lives_years
        if self.fitter.terms.levels.ppm_ref is None:
            half_lives = half_lives[:1]
        constants = self.settings.time_constants_years
        way = Way(constants[len(constants) // 2 - 1], half_lives[len(half_lives) // 2])
        start = self._fit(way, None, ROUGHLY)
        by_constant = self._heights([replace(way, time_constant_years=t) for t in constants], start)
        way = max(by_constant, key=lambda w: by_constant[w])
        by_half_life = self._heights([replace(way, half_life_years=h) for h in half_lives], start)
        way = max(by_half_life, key=lambda w: by_half_life[w])
        at = self._fit(way, start)
        likely = product(
            [w.time_constant_years for w in _not_hopeless(by_constant)],
            [w.half_life_years for w in _not_hopeless(by_half_life)],
        )
        return Likeliest(at, *self._weighed([Way(t, h) for t, h in likely], at))

    def _fit(self, way: Way, start: Vector | None, enough: float = ENOUGH) -> Vector:
        found = self.model(way).fit(sd_scale=self.settings.sd_scale, start=start, enough=enough)
        return found.log_variances

    def _heights(self, ways: list[Way], at: Vector) -> dict[Way, float]:
        return {way: self._height(way, self.model(way), at) for way in ways}

    def _height(self, way: Way, model: KnownNoiseModel, at: Vector) -> float:
        s = self.settings
        off = np.log(way.half_life_years / s.half_life_guess_years) / np.log(s.half_life_factor)
        return model.log_likelihood(at) - 0.5 * float(off) ** 2

    def _weighed(self, ways: list[Way], at: Vector) -> tuple[tuple[Way, ...], tuple[float, ...]]:
        models = [self.model(way) for way in ways]
        height = [self._height(way, model, at) for way, model in zip(ways, models, strict=True)]
        share = np.exp(np.array(height) - max(height))
        share[share < LEAST_WEIGHT * share.max()] = 0.0
        share /= share.sum()
        held = np.flatnonzero(share > 0.0)
        return tuple(ways[i] for i in held), tuple(share[held].tolist())


def _not_hopeless(heights: Mapping[Way, float]) -> list[Way]:
    """Ways that could still have weight once the variances are settled."""
    best = max(heights.values())
    return [way for way, height in heights.items() if height > best + HOPELESS]
