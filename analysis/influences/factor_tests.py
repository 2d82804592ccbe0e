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

from analysis.array_types import Codes, Matrix, Vector
from analysis.influences.evidence import LEAST_AGAIN, LEAST_YEARS_APART
from analysis.influences.factors import Factor
from analysis.influences.remainder import Nest, Remainder
from analysis.influences.terms import group_keys, peat_varies

LEAST_PHENOLS = 6
"""Makes of different phenols before peat is tested: with fewer a make's own character is in it."""
TIME_CONSTANT = 8.0
"""Years; one fixed curve of age, so that choosing the best of several does not count as finding."""
HALF_LIFE = 20.0
"""Years; weak guess of how smoke fades, fixed for the same reason."""
OF_BATCHES = (Factor.AGE, Factor.PHENOLS, Factor.MAKE)
FACTORS = (
    *(Factor.WOOD, Factor.FILL, Factor.AGE, Factor.PHENOLS),
    *(Factor.FILL_STRENGTH, Factor.PREVIOUS, Factor.WAREHOUSE, Factor.MAKE),
)
BESIDE = FACTORS[:-1]
"""What stands beside a factor; make only where it is the question, for phenols are in it."""
COMMON_FILL = "fill in any wood"
"""Fill numbers alike in all woods: what stands beside a wood, or only first fills would tell it."""
LEAST_DF = 3


@dataclass(frozen=True)
class FactorTest:
    """Whether one factor moves one descriptor.

    Attributes
    ----------
    f, df_num, df_den, p
        The test; None where it cannot be made, for the reason in `reason`.
    holds
        Whether it is among what is claimed over all descriptors and factors.
    """

    descriptor: str
    factor: Factor
    f: float | None = None
    df_num: int | None = None
    df_den: float | None = None
    p: float | None = None
    holds: bool = False
    reason: str | None = None


class FactorTester:
    """Fillings laid out for the tests; the same for all descriptors read on the same draws."""

    def __init__(self, draws: pd.DataFrame, lost: Mapping[Factor, str] | None = None) -> None:
        """Take a checked draws frame; `lost` are factors that cannot be told apart, with why."""
        self._of: Codes = pd.factorize(draws["filling"])[0].astype(np.intp)
        self._ages: Vector = draws["age_years"].to_numpy(dtype=np.float64)
        self.spread = 0.0
        first = draws.drop_duplicates("filling").reset_index(drop=True)
        ages = draws.groupby("filling", sort=False)["age_years"].mean().to_numpy()
        self.fillings = first.assign(age_years=ages)
        self.nest = Nest.of(self.fillings)
        self.lost = dict(lost or {})
        self.columns = _columns(self.fillings)

    def test(self, descriptor: str, reading: Vector, noise: Vector) -> Iterator[FactorTest]:
        """Test every factor on one descriptor.

        Parameters
        ----------
        reading, noise
            What was read of each draw, shape (draws,), and the variance of its noise.
        """
        y, variance = self._by_filling(reading, noise)
        known = [name for name in BESIDE if name in self.columns]
        left = Remainder(y, self._basis(known), variance, self.nest)
        self.spread = left.spread
        for factor in BESIDE:
            others: list[str] = [name for name in known if name is not factor]
            if factor is Factor.WOOD and Factor.FILL in others:
                others = [*(name for name in others if name != Factor.FILL), COMMON_FILL]
            beside = left
            if factor is Factor.PHENOLS and self._why_not(factor) is None:
                beside = Remainder(y, self._basis(known), variance, self.nest, with_makes=True)
            found = self._tested(FactorTest(descriptor, factor), beside, others)
            yield self._with_again(found, reading, noise) if factor is Factor.AGE else found
        if Factor.MAKE in self.columns:
            left = Remainder(y, self._basis([*known, Factor.MAKE]), variance, self.nest)
        yield self._tested(FactorTest(descriptor, Factor.MAKE), left, known)

    def _tested(self, blank: FactorTest, left: Remainder, others: Sequence[str]) -> FactorTest:
        why = self.lost.get(blank.factor) or self._why_not(blank.factor)
        if why is not None:
            return replace(blank, reason=why)
        rest = self._basis(others)
        mine = _beyond(self.columns[blank.factor], rest)
        if mine.shape[1] == 0:
            return replace(blank, reason="the casks nosed do not tell it from the rest")
        x, size = np.column_stack([rest, mine]), mine.shape[1]
        df_den = self._df(blank.factor, x, left)
        if df_den < LEAST_DF:
            return replace(blank, reason="too few casks filled on their own beside what is known")
        beta, covariance = left.solve(x)
        tail = beta[-size:]
        f = float(tail @ np.linalg.solve(covariance[-size:, -size:], tail)) / size
        p = float(betainc(df_den / 2.0, size / 2.0, df_den / (df_den + size * f)))
        return replace(blank, f=f, df_num=size, df_den=df_den, p=p)

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
        spans = pd.Series(self._ages).groupby(self._of).agg(np.ptp).to_numpy()
        mine = np.flatnonzero((spans >= LEAST_YEARS_APART) & (told > 0.0))
        if len(mine) < LEAST_AGAIN:
            return replace(blank, f=None, p=None, df_num=None, df_den=None, reason="few again")
        slope = np.bincount(self._of, weight * off * reading)[mine] / told[mine]
        mean, error = float(slope.mean()), float(slope.var(ddof=1)) / len(slope)
        f, df = mean**2 / max(error, 1e-12), float(len(slope) - 1)
        p = float(betainc(df / 2.0, 0.5, df / (df + f)))
        return replace(blank, f=f, df_num=1, df_den=df, p=p, reason=None)

    def _basis(self, names: Sequence[str]) -> Matrix:
        ones = np.ones((self.nest.n, 1))
        return _independent(np.column_stack([ones, *(self.columns[name] for name in names)]))

    def _df(self, factor: Factor, x: Matrix, left: Remainder) -> float:
        """Degrees of freedom at the level that the factor lives at.

        What varies within batches is known from there, and takes none from the batches.
        """
        means = self.nest.batch_means(x)
        if not self._is_of_batches(factor):
            within = x - means[self.nest.batch]
            return len(x) - len(means) - int(np.linalg.matrix_rank(within, tol=1e-8))
        own = [self.columns[name] for name in FACTORS if self._counts_between(name, factor)]
        taken = _independent(np.column_stack([np.ones(len(x)), *own])).shape[1]
        of_batches = float(len(means) - taken)
        if factor is not Factor.PHENOLS or of_batches < LEAST_DF:
            return of_batches
        share, of_makes = left.share_of_makes(x), float(max(self.nest.n_makes - 2, 1))
        return 1.0 / (share**2 / of_makes + (1.0 - share) ** 2 / of_batches)

    def _counts_between(self, name: Factor, asked: Factor) -> bool:
        if name not in self.columns or (name is Factor.MAKE and asked is not Factor.MAKE):
            return False
        return name is asked or self._is_of_batches(name)

    def _is_of_batches(self, factor: Factor) -> bool:
        return factor in OF_BATCHES or self._same_in_batches(factor)

    def _same_in_batches(self, factor: Factor) -> bool:
        own = self.columns[factor]
        within = own - self.nest.batch_means(own)[self.nest.batch]
        return float((within**2).sum()) < 0.05 * float(((own - own.mean(axis=0)) ** 2).sum())

    def _why_not(self, factor: Factor) -> str | None:
        if factor not in self.columns:
            return "the casks nosed are alike in it"
        kinds = _kinds(self.fillings["phenol_ppm"])
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
        return None

    def _by_filling(self, reading: Vector, noise: Vector) -> tuple[Vector, Vector]:
        weight = np.bincount(self._of, 1.0 / noise)
        return np.bincount(self._of, reading / noise) / weight, 1.0 / weight


def _columns(fillings: pd.DataFrame) -> dict[str, Matrix]:
    """Columns of each factor that varies, centred; fill numbers within each wood."""
    keys = group_keys(fillings)
    age = fillings["age_years"].to_numpy(dtype=np.float64)
    later = keys["wood_fill"].where(fillings["fill_number"] > _first_fill(fillings), "")
    found: dict[str, Matrix] = {
        Factor.WOOD: _indicators(keys["wood"]),
        Factor.FILL: _indicators(later),
        COMMON_FILL: _indicators(keys["fill"]),
        Factor.PREVIOUS: _indicators(keys["previous"]),
        Factor.WAREHOUSE: _indicators(keys["warehouse"]),
        Factor.MAKE: _indicators(keys["make"]),
        Factor.AGE: -np.expm1(-age / TIME_CONSTANT)[:, None],
        Factor.FILL_STRENGTH: fillings["fill_abv"].to_numpy(dtype=np.float64)[:, None],
    }
    if peat_varies(fillings["phenol_ppm"]):
        ppm = fillings["phenol_ppm"].to_numpy(dtype=np.float64)
        found[Factor.PHENOLS] = (np.sqrt(ppm) * np.exp2(-age / HALF_LIFE))[:, None]
    centred = {name: part - part.mean(axis=0) for name, part in found.items()}
    return {name: part for name, part in centred.items() if (part**2).sum() > 1e-9}


def _first_fill(fillings: pd.DataFrame) -> pd.Series:
    """The lowest fill number nosed of each wood."""
    least: pd.Series = fillings.groupby("wood")["fill_number"].transform("min")
    return least


def _indicators(groups: pd.Series) -> Matrix:
    levels = sorted({str(level) for level in groups.dropna()})
    text = groups.astype(str)
    found: Matrix = (text.to_numpy()[:, None] == np.array(levels, dtype=object)).astype(np.float64)
    return found


def _kinds(ppm: pd.Series) -> int:
    return len(set(ppm.dropna().round(3)))


def _independent(x: Matrix) -> Matrix:
    """Columns that are not made up of those before them."""
    kept: list[Vector] = []
    for column in x.T:
        length = float(np.linalg.norm(column))
        left = column.copy()
        for unit in kept:
            left = left - unit * float(unit @ left)
        if length > 0 and np.linalg.norm(left) > 1e-6 * length:
            kept.append(left / np.linalg.norm(left))
    found: Matrix = np.column_stack(kept)
    return found


def _beyond(own: Matrix, rest: Matrix) -> Matrix:
    """What a factor has that the rest does not make up, as independent columns."""
    basis = _independent(np.column_stack([rest, own]))
    return basis[:, rest.shape[1] :]
