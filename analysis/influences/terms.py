"""The columns of the model of influences, for one way of growing and fading.

A note of a draw is foretold from::

    level + A phi(age) + P psi(age, ppm) + strength + warehouse + previous + make + batch
          + what is particular to the cask

    phi = (1 - exp(-age / T)) / (1 - exp(-age_ref / T))
    psi = sqrt(ppm / ppm_ref) 2^(-(age - age_mid) / h)

`A` is the points that wood gives in `age_ref` years: a common part, a part of each wood, of each
fill number and of each wood at each fill number; the level has the same parts. Parts are drawn
towards the common one by variances that the readings decide (partial pooling). A cask has a
level of its own, and gives and keeps more or less than its like.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from ..array_types import Codes, Flags, Matrix, Stack, Vector
from .known_noise import Columns

LEVEL_SD, GROWTH_SD, SMOKE_SD, STRENGTH_SD = 40.0, 40.0, 60.0, 3.0
"""Wide priors in points: of the mean, of a wood's gift, of the smoke, of 1 % vol of strength."""
LEAST_PPM_RATIO, LEAST_PPM_STEP = 3.0, 2.0
LEVEL, GIFT, SMOKE = 0, 1, 2
STYLE = ("wood", "fill", "wood_fill", "make")
POOLED = ("wood", "fill", "wood_fill", "warehouse", "previous", "make", "batch")


@dataclass(frozen=True)
class Block:
    """Coefficients of one group's levels on one trait; blocks of one variance share it."""

    group: str
    trait: int
    variance: int


BLOCKS = (
    Block("wood", LEVEL, 0),
    Block("fill", LEVEL, 0),
    Block("wood_fill", LEVEL, 1),
    Block("wood", GIFT, 2),
    Block("fill", GIFT, 2),
    Block("wood_fill", GIFT, 3),
    Block("warehouse", LEVEL, 4),
    Block("previous", LEVEL, 5),
    Block("make", LEVEL, 6),
    Block("batch", LEVEL, 7),
    Block("make", SMOKE, 8),
)


@dataclass(frozen=True)
class Way:
    """One way of growing and fading: time constant of the wood, half-life of the smoke."""

    time_constant_years: float
    half_life_years: float


@dataclass(frozen=True)
class Levels:
    """The levels of the pooled groups that were nosed, and what the rest is measured from."""

    names: dict[str, tuple[str, ...]]
    age_ref: float
    age_mid: float
    ppm_ref: float | None
    abv_mid: float
    between_mid: float | None = None

    @classmethod
    def of(cls, draws: pd.DataFrame, *, vintage: bool = False) -> Levels:
        """Take them from the draws that are explained."""
        keys = group_keys(draws)
        names = {name: tuple(sorted(set(keys[name].dropna().unique()))) for name in POOLED}
        age, ppm = draws["age_years"], draws["phenol_ppm"]
        return cls(
            names={name: found for name, found in names.items() if len(found) > 1},
            age_ref=max(float(age.quantile(0.75)), 1.0),
            age_mid=float(age.median()),
            ppm_ref=float(ppm.max()) if peat_varies(ppm) else None,
            abv_mid=float(draws["fill_abv"].mean()),
            between_mid=float(age.mean()) if vintage else None,
        )


def peat_varies(ppm: pd.Series) -> bool:
    """Whether the makes differ enough in phenols to learn anything from it."""
    low, high = float(ppm.min()), float(ppm.max())
    return high >= LEAST_PPM_RATIO * low and high - low >= LEAST_PPM_STEP


def group_keys(draws: pd.DataFrame) -> pd.DataFrame:
    """The pooled group that each draw belongs to, by name.

    Previous contents that go with the wood count as the usual ones (column `held`).
    """
    fill = "fill " + draws["fill_number"].astype("int64").astype("str")
    return pd.DataFrame(
        {
            "wood": draws["wood"],
            "fill": fill,
            "wood_fill": draws["wood"] + ", " + fill,
            "warehouse": draws["warehouse"],
            "previous": draws["held"] if "held" in draws.columns else draws["previous"],
            "make": draws["make"],
            "batch": draws["batch"],
        },
        index=draws.index,
    )


def plain_words(frame: pd.DataFrame) -> pd.DataFrame:
    """The same frame with its words as plain objects: compared and gone through much quicker."""
    words = [name for name, kind in frame.dtypes.items() if isinstance(kind, pd.StringDtype)]
    return frame.astype(dict.fromkeys(words, "object"))


@dataclass(frozen=True)
class Groups:
    """The pooled groups of some draws, numbered once for all notes.

    Attributes
    ----------
    numbered
        By name: the number of each draw's group, -1 for none, and what the numbers stand for.
    """

    numbered: Mapping[str, tuple[Codes, Sequence[str]]]

    @classmethod
    def of(cls, draws: pd.DataFrame) -> Groups:
        """Number them."""
        keys = group_keys(draws)
        found = {name: pd.factorize(keys[name]) for name in POOLED}
        return cls({name: (codes, list(names)) for name, (codes, names) in found.items()})

    def codes(self, name: str, names: Sequence[str]) -> Codes:
        """Place of each draw's group among `names`, -1 where it is not there."""
        codes, known = self.numbered[name]
        place = {each: code for code, each in enumerate(names)}
        among = np.array([*(place.get(each, -1) for each in known), -1], dtype=np.intp)
        found: Codes = among[codes]
        return found


@dataclass(frozen=True)
class Points:
    """Places to be foretold, as arrays: ages, phenols, strengths, and codes of the groups.

    Codes are places in `Levels.names`, -1 for a level never nosed. `age_when_nosed` is the age
    at which a cask stands among the others (the mean over its draws); it matters only where
    casks of different ages tell another story than the same casks nosed again.
    """

    age_years: Vector
    phenol_ppm: Vector
    fill_abv: Vector
    codes: dict[str, Codes]
    age_when_nosed: Vector

    @classmethod
    def of(cls, draws: pd.DataFrame, levels: Levels, groups: Groups | None = None) -> Points:
        """Take them from a frame of draws or of stock; `groups` are its own, if numbered before."""
        known = groups or Groups.of(draws)
        codes = {name: known.codes(name, names) for name, names in levels.names.items()}
        nosed = "age_when_nosed" if "age_when_nosed" in draws.columns else "age_years"
        return cls(
            age_years=draws["age_years"].to_numpy(dtype=np.float64),
            phenol_ppm=draws["phenol_ppm"].to_numpy(dtype=np.float64),
            fill_abv=draws["fill_abv"].to_numpy(dtype=np.float64),
            codes=codes,
            age_when_nosed=draws[nosed].to_numpy(dtype=np.float64),
        )

    @property
    def n(self) -> int:
        """Number of places."""
        return len(self.age_years)

    def some(self, rows: Flags | Codes) -> Points:
        """Some of the places."""
        return Points(
            age_years=self.age_years[rows],
            phenol_ppm=self.phenol_ppm[rows],
            fill_abv=self.fill_abv[rows],
            codes={name: codes[rows] for name, codes in self.codes.items()},
            age_when_nosed=self.age_when_nosed[rows],
        )

    def at(self, age_years: Vector) -> Points:
        """The same casks at other ages; their place among the others stays."""
        return replace(self, age_years=age_years)


class Terms:
    """The columns that some draws ask for, and what they say of the three traits of a cask.

    A cask is foretold from its traits, its level, its gift and its smoke: ``y = level + gift
    phi + smoke psi``. Each trait is a sum of coefficients (`traits`) and of what is particular
    to the cask.
    """

    def __init__(self, levels: Levels) -> None:
        self.levels = levels
        fixed = {"level": LEVEL_SD, "growth": GROWTH_SD, "strength": STRENGTH_SD}
        if levels.ppm_ref is not None:
            fixed["smoke"] = SMOKE_SD
        if levels.between_mid is not None:
            fixed["vintage"] = GROWTH_SD
        self.fixed = tuple(fixed)
        self.blocks = [
            block for block in BLOCKS if block.group in levels.names and block.trait < self.n_traits
        ]
        sizes = [len(levels.names[block.group]) for block in self.blocks]
        order = sorted({block.variance for block in self.blocks})
        number = [order.index(block.variance) for block in self.blocks]
        self.variance_of = dict(zip(self.blocks, number, strict=True))
        own = np.array([sd**2 for sd in fixed.values()])
        self.columns = Columns(
            block=np.concatenate([np.full(len(own), -1), np.repeat(number, sizes)]).astype(np.intp),
            prior_variance=np.concatenate([own, np.full(sum(sizes), np.nan)]),
        )
        ends = len(own) + np.cumsum([0, *sizes])
        self.places = {
            block: slice(int(ends[i]), int(ends[i + 1])) for i, block in enumerate(self.blocks)
        }

    @property
    def n_traits(self) -> int:
        """Level and gift, and smoke where the makes differ in it."""
        return 2 if self.levels.ppm_ref is None else 3

    def bases(self, way: Way, age_years: Vector, phenol_ppm: Vector) -> Matrix:
        """What a point of each trait comes to at some ages, shape (n, traits)."""
        t = way.time_constant_years
        given = np.expm1(-age_years / t) / np.expm1(-self.levels.age_ref / t)
        bases = [np.ones(len(age_years)), given]
        if self.levels.ppm_ref is not None:
            faded = np.exp2(-(age_years - self.levels.age_mid) / way.half_life_years)
            bases.append(np.sqrt(phenol_ppm / self.levels.ppm_ref) * faded)
        return np.column_stack(bases)

    def traits(self, points: Points) -> Stack:
        """How the coefficients make up the traits of some casks, shape (n, traits, columns)."""
        found = np.zeros((points.n, self.n_traits, len(self.columns.block)))
        place = {name: i for i, name in enumerate(self.fixed)}
        found[:, LEVEL, place["level"]] = 1.0
        found[:, GIFT, place["growth"]] = 1.0
        found[:, LEVEL, place["strength"]] = points.fill_abv - self.levels.abv_mid
        if "smoke" in place:
            found[:, SMOKE, place["smoke"]] = 1.0
        if "vintage" in place and self.levels.between_mid is not None:
            apart = points.age_when_nosed - self.levels.between_mid
            found[:, LEVEL, place["vintage"]] = apart / self.levels.age_ref
        for block, places in self.places.items():
            codes = points.codes[block.group]
            seen = np.flatnonzero(codes >= 0)
            found[seen, block.trait, places.start + codes[seen]] = 1.0
        return found

    def sums(self, points: Points, counts: Matrix, of: Codes, n: int) -> Matrix:
        """What the coefficients count in sums over groups of casks, shape (n, columns).

        `counts` is what the traits of each cask count, shape (casks, traits), `of` its group.
        """
        levels, found = self.levels, np.zeros((n, len(self.columns.block)))
        beside = {
            "strength": points.fill_abv - levels.abv_mid,
            "vintage": (points.age_when_nosed - (levels.between_mid or 0.0)) / levels.age_ref,
        }
        trait = {"growth": GIFT, "smoke": SMOKE}
        for place, name in enumerate(self.fixed):
            each = counts[:, trait.get(name, LEVEL)] * beside.get(name, 1.0)
            found[:, place] = np.bincount(of, each, minlength=n)
        for block, places in self.places.items():
            codes, size = points.codes[block.group], places.stop - places.start
            seen = codes >= 0
            at = of[seen] * size + codes[seen]
            summed = np.bincount(at, counts[seen, block.trait], minlength=n * size)
            found[:, places] = summed.reshape(n, size)
        return found

    def unseen(
        self, points: Points, log_variances: Vector, groups: Collection[str] = POOLED
    ) -> Matrix:
        """Variance of the traits for want of knowing a level, shape (n, traits).

        A make or a wood that was never nosed is one more drawn from its kind.
        """
        found = np.zeros((points.n, self.n_traits))
        for block, number in self.variance_of.items():
            if block.group not in groups:
                continue
            never = points.codes[block.group] < 0
            found[never, block.trait] += np.exp(log_variances[number])
        return found
