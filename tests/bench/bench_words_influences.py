"""How often "moves with" is said where nothing moves, and where something does.

    python -m tests.bench.bench_words_influences [HOUSES]

Houses are invented: casks filled in parcels (batches of a make and a year), 16 notes, the noise of
each reading known. Nothing of these worlds was used when the rule was set: batches and casks
differ by normal amounts, by heavy-tailed ones (Student, 4 degrees of freedom), and by skewed ones.
Prints a row a world: houses with any false claim with its upper 95 % bound (Clopper & Pearson
1934), the mean share of claims that are false, and how often each true influence is found.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from scipy.stats import beta

from analysis.influences.factor_tests import FactorTest, FactorTester
from analysis.influences.moves import ENOUGH_CASKS, claims

Draws = Callable[[np.random.Generator, float, int], np.ndarray]
PPM = (1.0, 1.5, 3.0, 8.0, 14.0, 22.0, 32.0, 45.0, 2.0, 5.0, 18.0, 38.0)
TWO = (1.0, 32.0)
N_NOTES = 16
PEATED = 5.0
"""Parts per million from which a make is a peated one."""


def normal(rng: np.random.Generator, sd: float, n: int) -> np.ndarray:
    """Normal amounts."""
    return rng.normal(0.0, sd, n)


def heavy(rng: np.random.Generator, sd: float, n: int) -> np.ndarray:
    """Student with four degrees of freedom, scaled to `sd`."""
    found: np.ndarray = sd * rng.standard_t(4, n) / np.sqrt(2.0)
    return found


def skewed(rng: np.random.Generator, sd: float, n: int) -> np.ndarray:
    """A few casks far above the rest (chi-square with three degrees of freedom)."""
    found: np.ndarray = sd * (rng.chisquare(3, n) - 3.0) / np.sqrt(6.0)
    return found


@dataclass(frozen=True)
class House:
    """One kind of house.

    Attributes
    ----------
    real
        Whether peat, wood, age and fill number each move a note of their own.
    aliased
        Which make holds which wood: "peat" puts makes of much peat into butts and the others into
        barrels, "make" every second make, so that nothing tells wood from make.
    make_sd
        How far makes differ beside their peat, on every note; then "make" is no false claim.
    """

    name: str
    n_casks: int
    amounts: Draws = normal
    real: bool = False
    makes: int = 8
    batch_sd: float = 4.0
    cask_sd: float = 6.0
    make_sd: float = 0.0
    aliased: str | None = None
    ppm: tuple[float, ...] = PPM

    def casks(self, rng: np.random.Generator) -> pd.DataFrame:
        """One draw a cask; parcels of about five."""
        n_batches, n = max(6, self.n_casks // 5), self.n_casks
        batch = rng.integers(n_batches, size=n)
        make = rng.integers(self.makes, size=n_batches)[batch]
        year = rng.integers(2008, 2023, size=n_batches)[batch]
        casks = pd.DataFrame(
            {
                "sample": [f"s{i}" for i in range(n)],
                "cask": [f"c{i}" for i in range(n)],
                "filling": [f"c{i}/1" for i in range(n)],
                "wood": rng.choice(
                    ["barrel", "hogshead", "butt", "barrique"], n, p=[0.4, 0.25, 0.25, 0.1]
                ),
                "fill_number": rng.choice([1, 2, 3], n, p=[0.5, 0.35, 0.15]),
                "fill_abv": rng.choice([62.5, 63.5, 64.2], n) + rng.normal(0.0, 0.3, n),
                "age_years": 2024.3 - year,
                "phenol_ppm": np.array(self.ppm)[make],
                "make": [f"M{m}" for m in make],
                "previous": "bourbon",
                "held": "bourbon",
                "warehouse": rng.choice(["Loft", "Shed", "North"], n),
                "batch": [f"M{m} {y}" for m, y in zip(make, year, strict=True)],
            }
        )
        if self.aliased is not None:
            butt = casks["phenol_ppm"] > PEATED if self.aliased == "peat" else make % 2 == 1
            casks["wood"] = np.where(butt, "butt", "barrel")
        return casks

    def truths(self) -> dict[int, set[str]]:
        """Which influences move which note."""
        own = {0: {"phenols"}, 1: {"wood"}, 2: {"age"}, 3: {"fill"}} if self.real else {}
        makes = {"make"} if self.make_sd > 0 else set()
        return {note: own.get(note, set()) | makes for note in range(N_NOTES)}

    def reading(
        self, note: int, casks: pd.DataFrame, rng: np.random.Generator
    ) -> tuple[np.ndarray, np.ndarray]:
        """What was read of one note, and the variance of its noise."""
        n, noise = len(casks), rng.gamma(4.0, 4.0, len(casks))
        y = 30.0 + self.amounts(rng, self.cask_sd, n) + rng.normal(0.0, np.sqrt(noise))
        for column, sd in (("batch", self.batch_sd), ("make", self.make_sd)):
            codes, names = pd.factorize(casks[column])
            y += self.amounts(rng, sd, len(names))[codes]
        return y + (self._moved(note, casks) if self.real else 0.0), noise

    @staticmethod
    def _moved(note: int, casks: pd.DataFrame) -> np.ndarray:
        age = casks["age_years"].to_numpy()
        moved = {
            0: 40.0 * np.sqrt(casks["phenol_ppm"].to_numpy() / 45.0) * np.exp2(-age / 15.0),
            1: np.where(casks["wood"] == "butt", 8.0, 0.0),
            2: -24.0 * np.expm1(-age / 11.0),
            3: np.select([casks["fill_number"] == 2, casks["fill_number"] == 3], [-5.0, -8.0]),
        }
        found: np.ndarray = moved.get(note, np.zeros(len(casks)))
        return found


def is_false(house: House, test: FactorTest) -> bool:
    """Whether what is claimed is not so; of a set, whether none of it moves the note."""
    return house.truths()[int(test.descriptor)].isdisjoint(test.together or {test.factor})


@dataclass
class Tally:
    """What was said in many houses of one kind."""

    house: House
    n: int = 0
    any_false: int = 0
    shares: list[float] = field(default_factory=list)
    found: Counter[str] = field(default_factory=Counter)

    def take(self, tests: tuple[FactorTest, ...]) -> None:
        """Count one house."""
        held = [test for test in tests if test.holds]
        false = [test for test in held if is_false(self.house, test)]
        self.n, self.any_false = self.n + 1, self.any_false + bool(false)
        self.shares.append(len(false) / max(len(held), 1))
        self.found.update(
            " or ".join(t.together or [t.factor])
            for t in held
            if t not in false and t.factor != "make"
        )

    @property
    def bound(self) -> float:
        """Upper 95 % bound of the share of houses with a false claim."""
        return float(beta.ppf(0.95, self.any_false + 1, max(self.n - self.any_false, 1e-9)))

    @property
    def power(self) -> str:
        """How often each true influence was found."""
        return ", ".join(f"{name} {count / self.n:.2f}" for name, count in self.found.items())

    def row(self) -> str:
        """The row of the table."""
        return (
            f"{self.house.name:<38}{self.n:>6}{self.any_false / self.n:>8.3f}{self.bound:>8.3f}"
            f"{np.mean(self.shares):>8.3f}   {self.power}"
        )

    def markdown(self) -> str:
        """The same as a line of a Markdown table."""
        rates = (self.any_false / self.n, self.bound, float(np.mean(self.shares)))
        figures = " | ".join(f"{rate:.3f}" for rate in rates)
        return f"| {self.house.name} | {self.n} | {figures} | {self.power or '-'} |"


HOUSES = (
    *(House(f"nothing moves, {n} casks", n) for n in (32, 60, 120)),
    House("nothing moves, heavy tails, 120", 120, heavy),
    House("nothing moves, skewed, 120", 120, skewed),
    House("nothing moves, parcels differ by 8, 120", 120, batch_sd=8.0),
    *(House(f"four things move, {n} casks", n, real=True) for n in (60, 120)),
    House("four things move, heavy tails, 120", 120, heavy, real=True),
    House("four things move, three makes, 120", 120, real=True, makes=3),
    House("makes differ beside their peat, 120", 120, make_sd=4.0),
    House("wood and peat together, nothing moves", 120, makes=2, ppm=TWO, aliased="peat"),
    House("wood and peat together, four move", 120, makes=2, ppm=TWO, aliased="peat", real=True),
    House("wood by make, nothing moves", 120, aliased="make"),
    House("wood by make, four move", 120, aliased="make", real=True),
)


def judged(house: House, seed: int) -> tuple[FactorTest, ...]:
    """All tests of one invented house, decided together."""
    rng = np.random.default_rng([seed, house.n_casks, house.makes])
    casks = house.casks(rng)
    tester = FactorTester(casks)
    tests = [
        test
        for note in range(N_NOTES)
        for test in tester.test(str(note), *house.reading(note, casks, rng))
    ]
    few = house.n_casks < ENOUGH_CASKS
    return claims(tests, too_few=[str(note) for note in range(N_NOTES)] if few else ()).tests


def main(n_houses: int) -> None:
    """Print the table."""
    print(f"{'house':<38}{'houses':>6}{'any':>8}{'bound':>8}{'share':>8}   found")
    for house in HOUSES:
        tally = Tally(house)
        for seed in range(n_houses):
            tally.take(judged(house, seed))
        print(tally.row(), flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
