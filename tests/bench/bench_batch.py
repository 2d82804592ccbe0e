"""Is the chance that two batches lie within so many points as often true as it says?

    OPENBLAS_NUM_THREADS=1 python -m tests.bench.bench_batch [WORLDS]

Made-up houses of 120 casks and seven notes, their true notes known. A batch of four casks was made,
and found by a panel that errs; another is chosen to be like it from what the panel says of the
rest, whole casks, by the search of the program: the nearest by estimates that err, so that a chance
which forgot the choosing would promise too much. How notes mix is in doubt as the program has it.
Printed: what was promised and how often the true spirits lay within, by band of promise and over
all.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator

import numpy as np
import pandas as pd

from analysis.array_types import Floats
from analysis.target import Target, TargetLine
from analysis.vatting import (
    BatchBefore,
    Limits,
    MixingRule,
    NoteBefore,
    VattingPlan,
    as_before,
    build_stock,
    plan_vatting,
)
from analysis.vatting.mixing import EXPONENT_DOUBT

CASKS, NOTES, PARTS = 120, 7, 4
POINTS = (4.0, 6.0, 8.0, 10.0)
SD = (2.0, 3.5, 5.0)


def mixed(shares: Floats, scores: Floats, exponent: Floats) -> Floats:
    """What a vat smells of, each note by its own exponent."""
    found: Floats = (shares @ scores ** (1.0 / exponent)) ** exponent
    return found


def world(seed: int) -> Iterator[tuple[float, bool]]:
    """Promise and outcome of one house, for each width."""
    rng = np.random.default_rng([seed, 77])
    spread = rng.uniform(6.0, 14.0)
    truth = np.clip(
        rng.uniform(10.0, 45.0, NOTES) + spread * rng.standard_normal((CASKS, NOTES)), 0.0, 100.0
    )
    sd = np.full((CASKS, NOTES), SD[seed % len(SD)])
    # The estimate shrinks to the mean as a model's does: what is true lies around it.
    shrink = spread**2 / (spread**2 + sd**2)
    noisy = truth + sd * rng.standard_normal((CASKS, NOTES))
    estimate = truth.mean(axis=0) + shrink * (noisy - truth.mean(axis=0))
    known_sd = sd * np.sqrt(shrink)
    abv, litres = rng.uniform(54.0, 64.0, CASKS), rng.uniform(150.0, 210.0, CASKS)
    last = rng.choice(CASKS, PARTS, replace=False)
    lpa = (abv * litres)[last]
    exponent = np.exp(EXPONENT_DOUBT * rng.standard_normal(NOTES))  # both batches mix alike
    true_last = mixed(lpa / lpa.sum(), truth[last], exponent)
    nosed_sd = rng.uniform(1.0, 3.0)
    found = true_last + nosed_sd * rng.standard_normal(NOTES)
    rest = np.setdiff1d(np.arange(CASKS), last)
    names = [f"n{i}" for i in range(NOTES)]
    stock = build_stock(
        pd.DataFrame(
            {
                "cask": [f"C{i}" for i in rest],
                "filling": [f"C{i}/1" for i in rest],
                "age_years": 12.0,
                "abv": abv[rest],
                "bulk_l": litres[rest],
            }
        ),
        pd.DataFrame(
            [
                {"cask": f"C{i}", "descriptor": n, "estimate": estimate[i, j], "sd": known_sd[i, j]}
                for i in rest
                for j, n in enumerate(names)
            ]
        ),
    )
    before = BatchBefore(
        "L1",
        "One",
        tuple(
            NoteBefore(n, float(np.clip(found[j], 0, 100)), nosed_sd) for j, n in enumerate(names)
        ),
    )
    target = Target("T", tuple(TargetLine(n, 30.0, 9.0) for n in names))
    points = POINTS[seed % len(POINTS)]
    held, aim = as_before(stock, target, before, within_points=points)
    limits = Limits(litres=850.0, excess_fraction=0.1, casks_min=3, casks_max=6)
    plan = plan_vatting(held, aim, limits, MixingRule(rule_sd=0.0))
    if not isinstance(plan, VattingPlan):
        return
    rows = [int(part.cask[1:]) for part in plan.mixture.parts]
    shares = np.array([part.share_lpa for part in plan.mixture.parts])
    yield (
        plan.probability,
        bool(np.all(np.abs(mixed(shares, truth[rows], exponent) - true_last) <= points)),
    )


def main(worlds: int) -> None:
    """Print promise and outcome."""
    told = np.array([each for seed in range(worlds) for each in world(seed)], dtype=float)
    for low, high in ((0.0, 0.5), (0.5, 0.8), (0.8, 0.95), (0.95, 1.01), (0.0, 1.01)):
        here = told[(told[:, 0] >= low) & (told[:, 0] < high)]
        if len(here):
            promised, came = here.mean(axis=0)
            error = np.sqrt(max(came * (1 - came), 0.01) / len(here))
            sys.stdout.write(
                f"promised {low:.2f}-{min(high, 1.0):.2f}: {promised:.3f}, came {came:.3f} "
                f"(± {2 * error:.3f}) over {len(here)}\n"
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
