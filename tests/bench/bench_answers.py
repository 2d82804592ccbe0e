"""Of several vattings the first is said to be the surest: how often that is so.

    python -m tests.bench.bench_answers [SEEDS]

Made-up stocks of three sizes, five answers each. Told: how often an answer found later comes first
now, how much surer it is; how often the first is the surest of those listed by 100,000 vattings
that nobody chose by or was told, within a hundredth of it, and how far it is from the surest; how
often another answer is named as told surer, and how often that one then is; and the standard error
that is told beside what the told chance is off.
"""

from __future__ import annotations

import os
import sys
from typing import cast

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from analysis.array_types import Floats
from analysis.vatting import Limits, MixingRule, Mixture
from analysis.vatting.answers import different_answers
from analysis.vatting.chance import Stream, expect
from analysis.vatting.task import Task, make_task
from analysis.vatting.tighten import tighten
from tests.houses.stocks import stock_of, target_of

TARGET = target_of({"smoke": 36.0, "plum": 34.0}, 6.0)
SIZES = ((60, 1500.0, 4.0), (20, 600.0, 4.0), (12, 500.0, 6.0))
FRESH, DRAWS = 9, 100_000


def main() -> None:
    """Print the rates of every size."""
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    for casks, litres, sd in SIZES:
        found = [one for seed in range(seeds) if (one := trial(casks, litres, sd, seed))]
        changed, gain, best, short, named, rightly, off = (
            np.array(each, dtype=np.float64) for each in zip(*found, strict=True)
        )
        print(f"{casks} casks, {len(found)} stocks")
        print(
            f"  found later, first now: {changed.mean():.2f}; surer by {_mean(gain, changed):.3f}"
        )
        print(f"  first is the surest: {best.mean():.2f}; within .01: {(short < 0.01).mean():.2f}")
        print(f"  short of the surest by {short.mean():.4f}, at most {short.max():.4f}")
        print(f"  another is named: {named.mean():.2f}; it is surer: {_mean(rightly, named):.2f}")
        print(f"  told less true, in standard errors: sd {off.std():.2f}")


def _mean(values: Floats, where: Floats) -> float:
    return float(values[where > 0].mean()) if where.any() else float("nan")


def trial(casks: int, litres: float, sd: float, seed: int) -> tuple[float, ...] | None:
    """One stock: what `main` tells the means of."""
    limits = Limits(litres=litres, excess_fraction=0.1)
    task = make_task(stock_of(casks, seed=seed, sd=sd), TARGET, limits, MixingRule())
    chosen = tighten(task)
    if chosen.mixture is None:
        return None
    answers = different_answers(task, chosen).mixtures
    true = [_true(task, answer) for answer in answers]
    first, told = answers[0], [answer.probability for answer in answers]
    before = _true(task, chosen.mixture)
    surer = int(np.argmax(told))
    return (
        float(first.casks != chosen.mixture.casks),
        true[0] - before,
        float(np.argmax(true) == 0),
        max(true) - true[0],
        float(surer != 0),
        float(surer != 0 and true[surer] > true[0]),
        (told[0] - true[0]) / first.expectation.probability_se,
    )


def _true(task: Task, mixture: Mixture) -> float:
    rows = np.array([task.stock.position[part.cask] for part in mixture.parts], dtype=np.intp)
    litres = np.array([part.litres for part in mixture.parts])
    stream = cast(Stream, FRESH)
    return expect(task, rows, litres, draws=DRAWS, stream=stream).probability


if __name__ == "__main__":
    main()
