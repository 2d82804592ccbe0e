"""Near-balanced incomplete blocks: each assessor gets some of the samples, all about as often.

Start greedily, exchange samples between trays by annealing on the sum of squared concurrences (the
(M,S) criterion), then exchange as long as the A-efficiency itself rises; the best of several starts
counts. Annealing knows pairs only; what it leaves is small and cheap to get.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from itertools import combinations
from typing import TYPE_CHECKING, Final

from panel.session.balance import Row
from panel.session.blocks import SAME_EFFICIENCY, DesignError, efficiency, is_connected
from panel.session.codes import shuffled
from panel.session.exchange import Exchanger

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

# Sized so that 30 samples for 14 assessors take about a second on a slow laptop.
_STARTS: Final = 8
_STARTS_BEFORE_GIVING_UP: Final = 16
_TRIES: Final = 1_000


def near_balanced(
    samples: int, each: int, assessors: int, rng: random.Random, *, search: int = 1
) -> list[Row]:
    """Choose `each` of the samples for every assessor, so that all pairs meet about as often.

    There are `search` times as many starts as usual. How good it came out, `efficiency` tells.

    Raises
    ------
    DesignError
        The trays cannot link all samples, or there is nothing to choose.
    """
    if not 2 <= each < samples:
        raise DesignError(
            f"{each} of {samples} samples each: samples are compared on one tray, so it holds at "
            "least 2, and fewer than all."
        )
    needed = math.ceil((samples - 1) / (each - 1))
    if assessors < needed:
        raise DesignError(
            f"{samples} samples with {each} each need at least {needed} assessors, so that all are "
            f"linked; there are {assessors}."
        )
    best: list[Row] = []
    best_value = 0.0
    for attempt in range(_STARTS_BEFORE_GIVING_UP * search):
        if best and attempt >= _STARTS * search:
            break
        rows = Exchanger(_greedy(samples, each, assessors, rng), samples).anneal(
            list(combinations(range(assessors), 2)), rng
        )
        if not is_connected(samples, rows):
            continue
        rows, value, bound = _climbed(samples, rows, rng, _TRIES)
        if value > best_value + SAME_EFFICIENCY:
            best, best_value = rows, value
        if bound - best_value < SAME_EFFICIENCY:
            break
    if not best:
        raise DesignError(
            f"No way was found to give {assessors} assessors {each} of {samples} samples each so "
            "that all are linked: give more each, or nose fewer samples."
        )
    return best


def _greedy(samples: int, each: int, assessors: int, rng: random.Random) -> list[Row]:
    """Fill trays with what was served least, and met the tray's other samples least."""
    served = [0] * samples
    meets = [[0] * samples for _ in range(samples)]
    rows: list[Row] = []
    for _ in range(assessors):
        order, tray = shuffled(range(samples), rng), list[int]()
        while len(tray) < each:
            left = [sample for sample in order if sample not in tray]
            met = [(served[s], sum(meets[s][other] for other in tray)) for s in left]
            sample = left[met.index(min(met))]
            for other in tray:
                meets[sample][other] += 1
                meets[other][sample] += 1
            tray.append(sample)
            served[sample] += 1
        rows.append(tuple(tray))
    return rows


def _climbed(
    samples: int, rows: Sequence[Row], rng: random.Random, tries: int
) -> tuple[list[Row], float, float]:
    """Exchange at random as long as it makes the design more efficient; return what it came to."""
    import numpy as np

    trays = [list(row) for row in rows]
    on = np.zeros((samples, len(trays)))
    for column, tray in enumerate(trays):
        on[tray, column] = 1.0
    value, bound = efficiency(samples, rows)
    for _ in range(tries):
        if bound - value < SAME_EFFICIENCY:
            break
        a, b = int(rng.random() * len(trays)), int(rng.random() * len(trays))
        p, q = int(rng.random() * len(trays[a])), int(rng.random() * len(trays[b]))
        x, y = trays[a][p], trays[b][q]
        if on[x, b] or on[y, a]:
            continue
        on[[x, y], [a, b]], on[[x, y], [b, a]] = 0.0, 1.0
        found = _a_efficiency(on)
        if found > value + SAME_EFFICIENCY:
            value, trays[a][p], trays[b][q] = found, y, x
        else:
            on[[x, y], [a, b]], on[[x, y], [b, a]] = 1.0, 0.0
    return [tuple(tray) for tray in trays], value, bound


def _a_efficiency(on: NDArray[np.float64]) -> float:
    """Return the harmonic mean of the canonical factors; 0 where samples are not linked."""
    import numpy as np

    root = np.sqrt(on.sum(axis=1))
    scaled = np.eye(len(on)) - (on / on.sum(axis=0)) @ on.T / np.outer(root, root)
    factors = np.linalg.eigvalsh(scaled)[1:]
    return float(1.0 / np.mean(1.0 / factors)) if factors[0] > SAME_EFFICIENCY else 0.0
