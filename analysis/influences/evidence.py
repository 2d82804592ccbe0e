"""Two kinds of evidence on what the years do, kept apart.

Casks of different ages differ by age, but also by vintage: by what was distilled and which wood
was bought that year. The same cask nosed again differs by age alone. So the yearly change is
estimated both ways in one model::

    y = level of the cask + within (age - mean age of the cask) + between (mean age - overall mean)

`within` is from casks nosed again, `between` from casks of different ages (Neuhaus & Kalbfleisch
1998 for the split). Where the two agree both are used, where they differ the first.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from statistics import NormalDist

import numpy as np
import pandas as pd

from ..array_types import Codes, Matrix, Stack, Vector
from ..errors import FitError
from .known_noise import Columns, KnownNoiseModel
from .layout import TraitLayout
from .settings import InfluenceSettings
from .terms import group_keys, peat_varies

GROUPS = ("wood", "fill", "wood_fill", "make")
CHANGING = ("wood", "fill", "wood_fill")
LEAST_AGAIN = 5
LEAST_YEARS_APART = 0.5
LEAST_SPAN_YEARS = 2.0
WIDE_SD = 50.0
"""Wide prior of the two slopes, the level and the smoke, in points (a year)."""
APART = 2.5
"""Standard errors between the two before casks nosed again are preferred."""


class Rests(StrEnum):
    """Which of the two kinds of evidence the curves rest on."""

    BOTH = "both"
    AGAIN = "casks nosed again"
    AGES = "casks of different ages"
    NEITHER = "neither"


@dataclass(frozen=True)
class Slope:
    """Yearly change in points, with its interval."""

    points_a_year: float
    low: float
    high: float


@dataclass(frozen=True)
class Evidence:
    """What tells of the years on one descriptor.

    Attributes
    ----------
    again, ages
        Yearly change from casks nosed again, and from casks of different ages; None where
        there are too few, with `reason`.
    n_again, years_between
        Casks nosed at two ages or more, and the mean years between their first and last.
    n_casks
        Casks nosed.
    standard_errors_apart
        How far the two are from each other.
    used
        Which of them the curves rest on.
    """

    descriptor: str
    again: Slope | None
    ages: Slope | None
    n_again: int
    years_between: float | None
    n_casks: int
    standard_errors_apart: float | None
    used: Rests
    reason: str | None = None

    json_also = ("sentence",)

    @property
    def prefers_again(self) -> bool:
        """Whether casks of different ages tell another story than casks nosed again."""
        return self.used is Rests.AGAIN

    @property
    def sentence(self) -> str:
        """Which evidence the curves rest on, in words."""
        if self.used is Rests.BOTH:
            return (
                f"Rests on {self.n_casks} casks of different ages and on {self.n_again} of them "
                "drawn again, which agree."
            )
        if self.used is Rests.AGAIN:
            return (
                f"Casks of different ages and the {self.n_again} drawn again tell different "
                "stories (vintages differ): age is read from the latter."
            )
        if self.used is Rests.AGES:
            few = "none was" if self.n_again == 0 else f"only {self.n_again} were"
            return (
                f"Rests on casks of different ages alone ({few} drawn again): part of it may be "
                "the vintage. Draw the same casks again."
            )
        return "Nothing tells of the years: nose casks of different ages, or the same ones again."


class EvidenceFitter:
    """Draws laid out for the two slopes; the same for all descriptors read on them."""

    def __init__(self, draws: pd.DataFrame, settings: InfluenceSettings) -> None:
        self.draws, self.settings = draws, settings
        codes, _ = pd.factorize(draws["filling"])
        self.unit: Codes = codes.astype(np.intp)
        mean = draws.groupby("filling")["age_years"].transform("mean")
        self.off: Vector = (draws["age_years"] - mean).to_numpy(dtype=np.float64)
        first = draws.drop_duplicates("filling").reset_index(drop=True)
        ages = draws.groupby("filling", sort=False)["age_years"]
        span = ages.max() - ages.min()
        self.again = span[span >= LEAST_YEARS_APART]
        self.span = float(ages.mean().max() - ages.mean().min())
        traits, self.columns = _columns(first, ages.mean().to_numpy(dtype=np.float64))
        self.layout = TraitLayout(traits)

    def fit(self, descriptor: str, reading: Vector, noise_variance: Vector) -> Evidence:
        """Estimate the yearly change both ways."""
        n_again, n_casks = len(self.again), int(self.draws["cask"].nunique())
        years = float(self.again.mean()) if n_again else None
        again = ages = apart = reason = None
        try:
            again, ages, apart = self._slopes(reading, noise_variance)
        except FitError as error:
            reason = str(error)
        if n_again < LEAST_AGAIN:
            again = apart = None
            reason = f"{n_again} casks were drawn again: {LEAST_AGAIN} at least"
        if self.span < LEAST_SPAN_YEARS:
            ages = apart = None
            reason = "all casks were nosed at nearly one age"
        return Evidence(
            descriptor,
            again,
            ages,
            n_again,
            years,
            n_casks,
            apart,
            _used(again, ages, apart),
            reason,
        )

    def _slopes(self, reading: Vector, noise_variance: Vector) -> tuple[Slope, Slope, float]:
        bases = np.column_stack([np.ones(len(self.off)), self.off])
        centred = reading - reading.mean()
        model = KnownNoiseModel(
            centred, noise_variance, bases, self.unit, self.layout, self.columns
        )
        found = model.fit(sd_scale=self.settings.sd_scale)
        rows = self._rows()
        mean, cov = rows @ found.coefficients, rows @ found.covariance @ rows.T
        z = NormalDist().inv_cdf(0.5 + 0.5 * self.settings.level)
        slopes = [
            Slope(float(m), float(m - z * sd), float(m + z * sd))
            for m, sd in zip(mean, np.sqrt(np.diag(cov)), strict=True)
        ]
        apart = (mean[0] - mean[1]) / np.sqrt(cov[0, 0] + cov[1, 1] - 2.0 * cov[0, 1])
        return slopes[0], slopes[1], float(apart)

    def _rows(self) -> Matrix:
        """Both slopes as weights of the coefficients: the average over the casks nosed."""
        within = self.layout.traits[:, 1].mean(axis=0)
        between = within.copy()
        between[:2] = [0.0, 1.0]
        return np.stack([within, between])


def _used(again: Slope | None, ages: Slope | None, apart: float | None) -> Rests:
    if again is None:
        return Rests.NEITHER if ages is None else Rests.AGES
    if ages is None or (apart is not None and abs(apart) > APART):
        return Rests.AGAIN
    return Rests.BOTH


def _columns(first: pd.DataFrame, mean_age: Vector) -> tuple[Stack, Columns]:
    """Within, between and level, the smoke of the malt, the groups, and their yearly changes.

    A wood may change faster than another; that is one change, however it is seen.
    """
    keys = group_keys(first)
    members = {name: _members(keys[name]) for name in GROUPS if keys[name].nunique() > 1}
    off = mean_age - mean_age.mean()
    ones, zeros = np.ones(len(first)), np.zeros(len(first))
    fixed = [(zeros, ones), (off, zeros), (ones, zeros)]
    if peat_varies(first["phenol_ppm"]):
        root = np.sqrt(first["phenol_ppm"].to_numpy(dtype=np.float64))
        fixed.append((root - root.mean(), zeros))
    level = [np.stack([m, np.zeros_like(m)], axis=1) for m in members.values()]
    yearly = [
        np.stack([members[name] * off[:, None], members[name]], axis=1)
        for name in CHANGING
        if name in members
    ]
    parts = [np.stack([np.stack(pair, axis=1) for pair in fixed], axis=2), *level, *yearly]
    traits = np.concatenate(parts, axis=2)
    sizes = [part.shape[2] for part in parts]
    prior = np.full(traits.shape[2], np.nan)
    prior[: sizes[0]] = WIDE_SD**2
    return traits, Columns(np.repeat(np.arange(-1, len(sizes) - 1), sizes), prior)


def _members(groups: pd.Series) -> Matrix:
    """Who belongs to which level, ones and zeros."""
    levels = sorted(set(groups))
    codes = groups.map(levels.index).to_numpy(dtype=np.intp)
    found: Matrix = np.eye(len(levels))[codes]
    return found
