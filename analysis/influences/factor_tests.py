"""Does a note move with a factor? One F a factor and note, against the level the factor lives at.

Casks that were filled together share their malt, their year and the hands that filled them, so
that thirty casks of one batch are one witness on age, peat and make, and thirty on wood::

    reading of a filling = X beta + batch + cask + noise of the reading

`batch` and `cask` are random with variances by restricted maximum likelihood (Patterson &
Thompson 1971), the noise of each reading is known; for the phenols `make` is random beside them.
A factor is tested by the F of its columns, everything else recorded being in the model. What
varies within batches (wood, fill, previous contents, warehouse) is held against the casks; what
is the same for a whole batch (age, phenols, make) against the batches; strength at filling where
it varies. The denominator has the degrees of freedom of that level; for the phenols those of the
makes as far as the makes' own differences are in the error (after Satterthwaite 1946). What
casks nosed again tell of the years is joined to what casks of different ages tell.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy.special import betainc

from ..array_types import Codes, Matrix, Vector
from .aliases import beside as made_up_by
from .aliases import sets_of
from .evidence import LEAST_AGAIN, LEAST_YEARS_APART
from .factor_bases import Bases, Beside, spans
from .factor_columns import COMMON_FILL, factor_columns, independent, kinds_of_peat
from .factors import Factor
from .remainder import Nest, Remainder

LEAST_PHENOLS = 6
"""Makes of different phenols before peat is tested: with fewer a make's own character is in it."""
OF_BATCHES = (Factor.AGE, Factor.PHENOLS, Factor.MAKE)
FACTORS = (
    *(Factor.WOOD, Factor.FILL, Factor.AGE, Factor.PHENOLS),
    *(Factor.FILL_STRENGTH, Factor.PREVIOUS, Factor.WAREHOUSE, Factor.MAKE),
)
BESIDE = FACTORS[:-1]
"""What stands beside a factor; make only where it is the question, for phenols are in it."""
LEAST_DF = 3
NO_SMOKE = 0.05
"""From here what cannot be told from peat leaves no doubt that smoke may be what fades."""


@dataclass(frozen=True)
class FactorTest:
    """Whether one factor moves one descriptor.

    Attributes
    ----------
    f, df_num, df_den, p
        The test; None where it cannot be made, for the reason in `reason`.
    holds
        Whether it is among what is claimed over all descriptors and factors.
    together
        All factors of a set that cannot be told apart here (`factor` is the first of them), tested
        by one F; empty where it is a test of one factor.
    """

    descriptor: str
    factor: Factor
    f: float | None = None
    df_num: int | None = None
    df_den: float | None = None
    p: float | None = None
    holds: bool = False
    reason: str | None = None
    together: tuple[Factor, ...] = ()


class FactorTester:
    """Fillings laid out for the tests; the same for all descriptors read on the same draws."""

    def __init__(self, draws: pd.DataFrame, lost: Mapping[Factor, str] | None = None) -> None:
        """Take a checked draws frame; `lost` are factors that cannot be told apart, with why."""
        self._of: Codes = pd.factorize(draws["filling"])[0].astype(np.intp)
        self._ages: Vector = draws["age_years"].to_numpy(dtype=np.float64)
        self._spans = spans(self._of, self._ages)
        self._df_of: dict[Beside, float] = {}
        self.spread = 0.0
        first = draws.drop_duplicates("filling").reset_index(drop=True)
        ages = draws.groupby("filling", sort=False)["age_years"].mean().to_numpy()
        self.fillings = first.assign(age_years=ages)
        self.nest = Nest.of(self.fillings)
        self.lost = dict(lost or {})
        self.columns = factor_columns(self.fillings)
        self.bases = Bases(self.columns, self.nest.n)
        self.sets, self.apart_from = self._go_together()

    def test(self, descriptor: str, reading: Vector, noise: Vector) -> Iterator[FactorTest]:
        """Test every factor on one descriptor.

        Parameters
        ----------
        reading, noise
            What was read of each draw, shape (draws,), and the variance of its noise.
        """
        y, variance = self._by_filling(reading, noise)
        known: list[Factor] = [name for name in BESIDE if name in self.columns]
        joint = [self._joint(descriptor, part, known, (y, variance)) for part in self.sets]
        yield from joint
        left = Remainder(y, self.bases.of(known), variance, self.nest)
        self.spread = left.spread
        for factor in BESIDE:
            others: list[str] = [name for name in known if name is not factor]
            if factor is Factor.AGE and self._hides_age(joint):
                others.remove(Factor.PHENOLS)
            others = _fill_in_any_wood(others, (factor,))
            beside = left
            if factor is Factor.PHENOLS and self._why_not(factor) is None:
                beside = Remainder(y, self.bases.of(known), variance, self.nest, with_makes=True)
            found = self._tested(FactorTest(descriptor, factor), beside, others)
            yield self._with_again(found, reading, noise) if factor is Factor.AGE else found
        if Factor.MAKE in self.columns:
            left = Remainder(y, self.bases.of([*known, Factor.MAKE]), variance, self.nest)
        yield self._tested(FactorTest(descriptor, Factor.MAKE), left, known)

    def _tested(self, blank: FactorTest, left: Remainder, others: Sequence[str]) -> FactorTest:
        why = self.lost.get(blank.factor) or self._why_not(blank.factor)
        if why is not None:
            return replace(blank, reason=why)
        return self._f(blank, self.columns[blank.factor], left, others)

    def _f(
        self, blank: FactorTest, own: Matrix, left: Remainder, others: Sequence[str]
    ) -> FactorTest:
        """F of some columns beside those of others."""
        asked = blank.together or (blank.factor,)
        laid = self.bases.beside(asked, own, others)
        if laid.size == 0:
            return replace(blank, reason="the casks nosed do not tell it from the rest")
        x, size = laid.x, laid.size
        df_den = self._df(asked, laid, left)
        if df_den < LEAST_DF:
            return replace(blank, reason="too few casks filled on their own beside what is known")
        beta, covariance = left.solve(x)
        tail = beta[-size:]
        f = float(tail @ np.linalg.solve(covariance[-size:, -size:], tail)) / size
        p = float(betainc(df_den / 2.0, size / 2.0, df_den / (df_den + size * f)))
        return replace(blank, f=f, df_num=size, df_den=df_den, p=p)

    def _joint(
        self,
        descriptor: str,
        together: tuple[Factor, ...],
        known: Sequence[Factor],
        read: tuple[Vector, Vector],
    ) -> FactorTest:
        """Test a set as one factor: all its columns, the rest beside them.

        Of a set with make, what it has but for the makes is tried too: eight makes are seven
        columns, the two woods that they fill are one. The better counts, and pays for the choice.
        """
        others = _fill_in_any_wood([n for n in known if n not in together], together)
        blank = FactorTest(descriptor, together[0], together=together)
        parts = [self._all_of(together)]
        plain = self._all_of([name for name in together if name is not Factor.MAKE])
        if independent(plain).shape[1] < independent(parts[0]).shape[1]:
            parts.append(plain)
        found = []
        for own in parts:
            basis = self.bases.beside(together, own, others).basis
            left = Remainder(read[0], basis, read[1], self.nest)
            found.append(self._f(blank, own, left, others))
        told = [test for test in found if test.p is not None]
        if not told:
            return found[0]
        best = min(told, key=lambda test: test.p or 0.0)
        return replace(best, p=min(1.0, len(parts) * (best.p or 0.0)))

    def _all_of(self, names: Sequence[Factor]) -> Matrix:
        return np.column_stack([self.columns[name] for name in names])

    def _go_together(self) -> tuple[tuple[tuple[Factor, ...], ...], dict[Factor, str]]:
        """Sets that cannot be told apart, and why each factor lost in one has no test."""
        columns = dict(self.columns)
        if Factor.PHENOLS in columns:
            root = np.sqrt(self.fillings["phenol_ppm"].to_numpy(dtype=np.float64))[:, None]
            columns[Factor.PHENOLS] = root - root.mean(axis=0)
        few = 1 < kinds_of_peat(self.fillings["phenol_ppm"]) < LEAST_PHENOLS
        sets = sets_of(columns, few_peats=few)
        lost = {
            name: f"cannot be told from {' and '.join(others)} in the casks nosed"
            for part in sets
            for name in part
            if (others := made_up_by(name, columns, part))
            and not (name is Factor.PHENOLS and others == (Factor.MAKE,))
        }
        return sets, lost

    def _hides_age(self, joint: Sequence[FactorTest]) -> bool:
        """Whether peat that goes with something else would take from age, there being no smoke.

        Of such peat only its fading is its own, and that is age within the peated casks.
        """
        mine = [test for test in joint if Factor.PHENOLS in test.together]
        return any(
            len(set(test.together) - {Factor.PHENOLS, Factor.MAKE}) > 0
            and test.p is not None
            and test.p >= NO_SMOKE
            for test in mine
        )

    def _with_again(self, found: FactorTest, reading: Vector, noise: Vector) -> FactorTest:
        """Join what casks nosed again tell of the years, each cask's own slope one witness.

        The better of the two counts, and pays for the choice (Bonferroni).
        """
        again = self._again(found, reading, noise)
        if again.p is None:
            return found
        if found.p is None:
            return again
        better = again if again.p < found.p else found
        return replace(better, p=min(1.0, 2.0 * min(again.p, found.p)))

    def _again(self, blank: FactorTest, reading: Vector, noise: Vector) -> FactorTest:
        weight = 1.0 / noise
        total = np.bincount(self._of, weight)
        off = self._ages - (np.bincount(self._of, weight * self._ages) / total)[self._of]
        told = np.bincount(self._of, weight * off**2)
        mine = np.flatnonzero((self._spans >= LEAST_YEARS_APART) & (told > 0.0))
        if len(mine) < LEAST_AGAIN:
            return replace(blank, f=None, p=None, df_num=None, df_den=None, reason="few again")
        slope = np.bincount(self._of, weight * off * reading)[mine] / told[mine]
        mean, error = float(slope.mean()), float(slope.var(ddof=1)) / len(slope)
        f, df = mean**2 / max(error, 1e-12), float(len(slope) - 1)
        p = float(betainc(df / 2.0, 0.5, df / (df + f)))
        return replace(blank, f=f, df_num=1, df_den=df, p=p, reason=None)

    def _plain_df(self, asked: Sequence[Factor], x: Matrix) -> float:
        """Degrees of freedom at the level that the factor lives at, makes having no part in it.

        What varies within batches is known from there, and takes none from the batches.
        """
        means = self.nest.batch_means(x)
        if not any(self._is_of_batches(factor) for factor in asked):
            within = x - means[self.nest.batch]
            return len(x) - len(means) - int(np.linalg.matrix_rank(within, tol=1e-8))
        own = [self.columns[name] for name in FACTORS if self._counts_between(name, asked)]
        taken = independent(np.column_stack([np.ones(len(x)), *own])).shape[1]
        return float(len(means) - taken)

    def _df(self, asked: Sequence[Factor], laid: Beside, left: Remainder) -> float:
        """The same, for the phenols those of the makes as far as these are in the error."""
        if laid not in self._df_of:
            self._df_of[laid] = self._plain_df(asked, laid.x)
        of_batches = self._df_of[laid]
        if tuple(asked) != (Factor.PHENOLS,) or of_batches < LEAST_DF:
            return of_batches
        share, of_makes = left.share_of_makes(laid.x), float(max(self.nest.n_makes - 2, 1))
        return 1.0 / (share**2 / of_makes + (1.0 - share) ** 2 / of_batches)

    def _counts_between(self, name: Factor, asked: Sequence[Factor]) -> bool:
        if name not in self.columns or (name is Factor.MAKE and name not in asked):
            return False
        return name in asked or self._is_of_batches(name)

    def _is_of_batches(self, factor: Factor) -> bool:
        return factor in OF_BATCHES or self._same_in_batches(factor)

    def _same_in_batches(self, factor: Factor) -> bool:
        own = self.columns[factor]
        within = own - self.nest.batch_means(own)[self.nest.batch]
        return float((within**2).sum()) < 0.05 * float(((own - own.mean(axis=0)) ** 2).sum())

    def _why_not(self, factor: Factor) -> str | None:
        if factor not in self.columns:
            return "the casks nosed are alike in it"
        kinds = kinds_of_peat(self.fillings["phenol_ppm"])
        if factor is Factor.PHENOLS and kinds < LEAST_PHENOLS:
            return (
                f"rests on {kinds} makes of different phenols: a make's own character cannot be "
                f"told from its peat below {LEAST_PHENOLS}"
            )
        if factor is Factor.MAKE and 1 < kinds < LEAST_PHENOLS:
            return (
                f"{kinds} makes of different phenols: what is the make's own cannot be told from "
                f"its peat below {LEAST_PHENOLS}"
            )
        return self.apart_from.get(factor)

    def _by_filling(self, reading: Vector, noise: Vector) -> tuple[Vector, Vector]:
        weight = np.bincount(self._of, 1.0 / noise)
        return np.bincount(self._of, reading / noise) / weight, 1.0 / weight


def _fill_in_any_wood(others: list[str], asked: Sequence[Factor]) -> list[str]:
    """Beside a wood, fill numbers are alike in all woods."""
    if Factor.WOOD not in asked or Factor.FILL not in others:
        return others
    return [*(name for name in others if name != Factor.FILL), COMMON_FILL]
