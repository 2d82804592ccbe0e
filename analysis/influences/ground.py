"""What comparisons stand on: the draws, what they can tell apart, and otherwise equal casks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd

from ..array_types import Codes, Flags, Vector
from .factors import Factor
from .separate import Separation
from .settings import InfluenceSettings
from .terms import Levels, Points, Terms, group_keys, plain_words

LEAST_OVERLAP_YEARS = 1.0


@dataclass(frozen=True)
class Comparison:
    """One level of an influence against another, everything else equal.

    Attributes
    ----------
    plus, minus
        The casks compared; None where there is nothing to compare, for the reason in `note`.
    n_casks
        Nosed casks of the level.
    """

    factor: Factor
    level: str
    against: str
    n_casks: int
    plus: Points | None = None
    minus: Points | None = None
    note: str | None = None


@dataclass(frozen=True)
class Ground:
    """What the comparisons stand on."""

    terms: Terms
    draws: pd.DataFrame
    separation: Separation
    settings: InfluenceSettings

    @cached_property
    def keys(self) -> pd.DataFrame:
        """Groups of each draw."""
        return plain_words(group_keys(self.draws))

    @cached_property
    def every(self) -> Points:
        """All draws as places."""
        return Points.of(self.draws, self.levels)

    @cached_property
    def ages(self) -> Vector:
        """Age of each draw."""
        return self.draws["age_years"].to_numpy(dtype=np.float64)

    @cached_property
    def middle_ppm(self) -> float:
        """Phenols of the malt in the middle of the draws."""
        return float(self.draws["phenol_ppm"].median())

    def rows(self, group: str, level: str) -> Flags:
        """Which draws are of a level of a group."""
        if (group, level) not in self._rows:
            self._rows[group, level] = (self.keys[group] == level).to_numpy(dtype=np.bool_)
        return self._rows[group, level]

    @cached_property
    def _rows(self) -> dict[tuple[str, str], Flags]:
        return {}

    @cached_property
    def _casks(self) -> Codes:
        return pd.factorize(self.draws["cask"])[0].astype(np.intp)

    @property
    def levels(self) -> Levels:
        """The levels that the model knows."""
        return self.terms.levels

    def points(
        self, ages: Sequence[float], *, ppm: float | None = None, **codes: int | None
    ) -> Points:
        """Otherwise nameless casks at some ages: only the groups named count."""
        n, levels = len(ages), self.levels
        middle = self.middle_ppm if ppm is None else ppm
        return Points(
            age_years=np.asarray(ages, dtype=np.float64),
            phenol_ppm=np.full(n, middle),
            fill_abv=np.full(n, levels.abv_mid),
            codes={
                name: np.full(n, -1 if codes.get(name) is None else codes[name], dtype=np.intp)
                for name in levels.names
            },
            age_when_nosed=np.full(n, levels.between_mid or 0.0),
        )

    def code(self, group: str, level: str) -> int | None:
        """Place of a level in the model; None where the model has no such group."""
        names = self.levels.names.get(group, ())
        return names.index(level) if level in names else None

    def count(self, rows: Flags) -> int:
        """Casks among some rows."""
        return len(np.unique(self._casks[rows]))

    def compared(
        self, blank: Comparison, plus: Points, minus: Points, *notes: str | None
    ) -> Comparison:
        """Fill in what is compared, and say so where it rests on little."""
        few = blank.n_casks < self.settings.least_casks_a_level
        said = [*notes, f"rests on {_casks(blank.n_casks)}" if few else None]
        note = "; ".join(part for part in said if part) or None
        return replace(blank, plus=plus, minus=minus, note=note)


def _casks(count: int) -> str:
    return "1 cask" if count == 1 else f"{count} casks"


def overlap(one: Vector, other: Vector) -> tuple[float, float] | None:
    """Ages at which both were nosed; None where they hardly meet."""
    low, high = max(one.min(), other.min()), min(one.max(), other.max())
    return (float(low), float(high)) if high - low >= LEAST_OVERLAP_YEARS else None


def apart(one: str, ages: Vector, other: str, others: Vector) -> str:
    """Say that two were nosed at different ages."""
    return (
        f"ages do not overlap: {one} was nosed at {span(ages)} years, {other} at "
        f"{span(others)}; nose both at the same ages"
    )


def span(ages: Vector) -> str:
    """Ages in words, whole years."""
    low, high = f"{ages.min():.0f}", f"{ages.max():.0f}"
    return low if low == high else f"{low} to {high}"


def stacked(parts: Sequence[Points]) -> Points:
    """Several places as one."""
    return Points(
        age_years=np.concatenate([part.age_years for part in parts]),
        phenol_ppm=np.concatenate([part.phenol_ppm for part in parts]),
        fill_abv=np.concatenate([part.fill_abv for part in parts]),
        codes={
            name: np.concatenate([part.codes[name] for part in parts]) for name in parts[0].codes
        },
        age_when_nosed=np.concatenate([part.age_when_nosed for part in parts]),
    )
