"""What one finds who knows every variance: no rule that has to estimate them can find more.

    OPENBLAS_NUM_THREADS=1 python -m tests.bench.bench_words_oracle [WORLDS]

Prints, beside what the program finds in the same made-up houses, how often a wood worth eight
points is found by generalised least squares with the true variances, all else known to do nothing,
at the p that the rule over all notes and factors comes to (.0021: four claims of 96); and how often
two glasses exchanged on one tray are by somebody who knows the casks, the levels and the noise.
"""

from __future__ import annotations

import sys

import numpy as np
import pandas as pd
from scipy import stats

from tests.bench.bench_words_influences import HOUSES, judged
from tests.bench.word_worlds import REAL, SIZES, Flight

FOUR_THINGS_MOVE, AT = 7, 0.0021
PAIR, REST, ENOUGH = 0.05 * 2.0 / 3.0, 0.91, 0.8
"""Prior of two glasses exchanged, of a tray as it was recorded, and the chance that is said."""


def wood_p(seed: int) -> float:
    """Chance of so much in a note that no wood moves, the variances of the house known."""
    house = HOUSES[FOUR_THINGS_MOVE]
    rng = np.random.default_rng([seed, house.n_casks, house.makes])
    casks = house.casks(rng)
    y, noise = [house.reading(note, casks, rng) for note in range(2)][1]
    batch = pd.factorize(casks["batch"])[0]
    variance = np.diag(noise + house.cask_sd**2)
    variance += house.batch_sd**2 * (batch[:, None] == batch[None])
    woods = pd.get_dummies(casks["wood"], drop_first=True).to_numpy(dtype=np.float64)
    x = np.column_stack([np.ones(len(y)), woods])
    covariance = np.linalg.inv(x.T @ np.linalg.solve(variance, x))
    beta = covariance @ x.T @ np.linalg.solve(variance, y)
    quadratic = beta[1:] @ np.linalg.solve(covariance[1:, 1:], beta[1:])
    return float(stats.chi2.sf(quadratic, woods.shape[1]))


def pair_found(seed: int, people: int, samples: int) -> bool:
    """Whether two glasses exchanged on a tray of a good panel are found, all else known."""
    rng = np.random.default_rng([seed, people])
    flight = Flight(people, samples, REAL * 3)
    poured, cell = flight.poured, flight.cell_sd
    truth = flight._truth(rng)[poured]
    read = truth + rng.normal(0.0, cell, truth.shape)
    first, second = np.triu_indices(len(poured), 1)
    unlike = poured[first] != poured[second]
    first, second = first[unlike], second[unlike]
    at = int(rng.integers(len(first)))
    read[[first[at], second[at]]] = read[[second[at], first[at]]]
    off = ((read[:, None] - truth[None]) ** 2).sum(axis=2) / cell**2
    own = np.diag(off)
    gain = 0.5 * (own[:, None] + own[None] - off - off.T)[first, second]
    weights = np.exp(gain) * PAIR / len(first) / REST
    chances = weights / (1.0 + weights.sum())
    best = int(chances.argmax())
    return bool(chances[best] >= ENOUGH and best == at)


def main(worlds: int) -> None:
    """Print both."""
    known = np.mean([wood_p(seed) < AT for seed in range(worlds)])
    told = [judged(HOUSES[FOUR_THINGS_MOVE], seed) for seed in range(worlds)]
    ours = np.mean(
        [any(t.holds for t in one if (t.descriptor, t.factor) == ("1", "wood")) for one in told]
    )
    print(f"a wood of 8 points, 120 casks: known {known:.3f}, said {ours:.3f} ({worlds} houses)")
    for people, samples in SIZES:
        found = np.mean([pair_found(seed, people, samples) for seed in range(10 * worlds)])
        print(f"two glasses exchanged, {people} x {samples}, good panel: known {found:.3f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
