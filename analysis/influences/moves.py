"""What may be said to move a note, over all notes and factors together.

The false discovery rate over all tests of :mod:`analysis.influences.factor_tests` is held at .05
(Benjamini & Hochberg 1995), and the intervals of what is claimed keep the false coverage rate
(Benjamini & Yekutieli 2005): the claimed are the largest of many, and look larger than they are.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from math import ceil
from statistics import NormalDist

import numpy as np
import pandas as pd

from .factor_tests import FactorTest, FactorTester
from .factors import Covariate, Factor
from .separate import Separation
from .settings import InfluenceSettings

RATE = 0.05
"""False discoveries among what is claimed, and intervals that miss among those shown."""
ENOUGH_CASKS = 60
"""Casks below which nothing is claimed of a note: too little would be found, and some falsely."""
WORTH_TELLING = 8.0
"""Points between two woods that a house would want to be told of."""


@dataclass(frozen=True)
class Claims:
    """All tests of some descriptors, with what may be claimed.

    Attributes
    ----------
    level
        Probability that an interval of a claimed effect is to cover; wider than that of a
        single one, since the claimed are the largest of many.
    n_tests
        Tests that were made.
    spreads
        Standard deviation, in points, of one filling's reading about the model, by descriptor.
    """

    tests: tuple[FactorTest, ...]
    level: float
    n_tests: int
    spreads: Mapping[str, float]

    def find(self, descriptor: str, factor: Factor) -> FactorTest | None:
        """Return the test of a factor on a descriptor; None where there is none."""
        for test in self.tests:
            if (test.descriptor, test.factor, test.together) == (descriptor, factor, ()):
                return test
        return None

    def together(self, descriptor: str) -> tuple[tuple[Factor, ...], ...]:
        """Sets of factors that may be said to move the descriptor, but not which of a set."""
        return tuple(
            test.together
            for test in self.tests
            if test.descriptor == descriptor and test.holds and test.together
        )

    def holds(self, descriptor: str, factor: Factor) -> bool:
        """Whether the factor may be said to move the descriptor."""
        test = self.find(descriptor, factor)
        return test is not None and test.holds

    def casks_wanted(self, descriptor: str) -> int | None:
        """About how many casks would tell two woods apart that differ by `WORTH_TELLING` points.

        Eight times in ten, half of the casks in either wood, among as many tests as were made.
        """
        spread = self.spreads.get(descriptor)
        if spread is None or not self.n_tests:
            return None
        sure = NormalDist().inv_cdf(1.0 - RATE / (2.0 * self.n_tests)) + NormalDist().inv_cdf(0.8)
        return int(ceil(4.0 * (sure * spread / WORTH_TELLING) ** 2 / 10.0) * 10)


def claims(
    tests: Iterable[FactorTest],
    spreads: Mapping[str, float] | None = None,
    rate: float = RATE,
    too_few: Collection[str] = (),
) -> Claims:
    """Decide what may be claimed over all descriptors and factors.

    Of the descriptors in `too_few` nothing is: they were read on less than `ENOUGH_CASKS`.

    Examples
    --------
    >>> wood = FactorTest("tar", Factor.WOOD, 9.0, 1, 40, 0.001)
    >>> some = [wood, FactorTest("tar", Factor.AGE, p=0.4)]
    >>> found = claims(some)
    >>> [test.holds for test in found.tests], found.level
    ([True, False], 0.975)
    """
    every = tuple(tests)
    may = [test for test in every if test.p is not None and test.descriptor not in too_few]
    tried = sorted(test.p for test in may if test.p is not None)
    passing = [i for i, p in enumerate(tried, 1) if p <= rate * i / len(tried)]
    cut = tried[passing[-1] - 1] if passing else -1.0
    held = {id(test) for test in may if test.p is not None and test.p <= cut}
    decided = tuple(replace(test, holds=id(test) in held) for test in every)
    n_held = sum(test.holds for test in decided)
    level = 1.0 - rate * n_held / len(tried) if n_held else 1.0 - rate
    return Claims(decided, level, sum(t.p is not None for t in every), dict(spreads or {}))


def claims_of(
    readings: pd.DataFrame, draws: pd.DataFrame, apart: Separation, settings: InfluenceSettings
) -> Claims:
    """Test all factors on all descriptors read of some draws, and decide what may be claimed.

    All descriptors that enough casks were read on take part, whichever are asked for, so that
    what is said of one does not hang on what else was asked.

    Parameters
    ----------
    readings
        ``sample, descriptor, reading, noise_variance``.
    draws
        Draws that can be explained, see :class:`analysis.influences.fits.Fits`.
    """
    testers: dict[bytes, FactorTester] = {}
    tests: list[FactorTest] = []
    spreads: dict[str, float] = {}
    too_few: set[str] = set()
    for name, rows in readings.groupby("descriptor", sort=True):
        own = rows.set_index("sample").reindex(draws["sample"])
        here = own["reading"].notna().to_numpy()
        n_casks = draws.loc[here, "cask"].nunique()
        if n_casks < settings.least_casks:
            continue
        if n_casks < ENOUGH_CASKS:
            too_few.add(str(name))
        if here.tobytes() not in testers:
            some = draws[here].reset_index(drop=True)
            testers[here.tobytes()] = FactorTester(some, _lost(apart))
        tester = testers[here.tobytes()]
        y, noise = (
            own[key].to_numpy(dtype=np.float64)[here] for key in ("reading", "noise_variance")
        )
        tests += tester.test(str(name), y, noise)
        spreads[str(name)] = tester.spread
    return claims(tests, spreads, too_few=too_few)


def _lost(apart: Separation) -> dict[Factor, str]:
    """Measures that cannot be told from the rest as a whole; levels are left to their columns."""
    names = {
        Factor.AGE: Covariate.AGE,
        Factor.PHENOLS: Covariate.PHENOL,
        Factor.FILL_STRENGTH: Covariate.STRENGTH,
    }
    found = {factor: apart.find(name, "") for factor, name in names.items()}
    return {factor: part.note for factor, part in found.items() if part is not None}
