"""How often a nosed blend is said to be off its target where it is on it, and where it is not.

Casks of the houses of :mod:`tests.bench.vat_worlds` that were nosed in one evening stand in for
bench blends: what they truly are is known. Each is held against four targets of six lines, with
tolerances of 4 to 8 points: one that it truly is (every line within half its tolerance), one that
it barely is (anywhere within), one that it misses on one line by half a tolerance more than is
allowed, one by a whole tolerance more; the other lines within half of theirs.

    python -m tests.bench.bench_nosed_blend [HOUSES_A_KIND] [FIRST_SEED]

Prints by kind how often a line is called out (`out`), how often a reason is asked for before
signing (`asked`: a line out, or a chance below the least), with the standard error by house, and
the mean chance that is told.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator

import numpy as np
import pandas as pd
import threadpoolctl

from analysis.profile import Profile, ProfileSettings, estimate_profile
from analysis.target import Target, TargetLine, sample_against
from panel.release.against import LEAST_CHANCE
from tests.bench.vat_worlds import NOTES, House, Kind

MISSED = {"well within": (0.5, 0.0), "within": (1.0, 0.0), "by half": (0.5, 1.5)}
MISSED |= {"by a whole": (0.5, 2.0)}
"""Tolerances that the lines lie from the truth at most, and the missed one; 0: none is missed."""


def held(house: House, profile: Profile) -> Iterator[dict[str, object]]:
    rng = np.random.default_rng((house.seed, 8))
    evenings = house.scores.groupby("cask")["session"].nunique()
    for cask in evenings.index[evenings == 1]:
        truth = house.truth[house.names.index(cask)]
        for missed, by in MISSED.items():
            found = sample_against(profile, cask, _target(truth, *by, rng))
            chance = 1.0 if found.probability is None else found.probability
            yield {
                **{"kind": house.kind.value, "house": house.seed, "missed": missed},
                **{"out": bool(found.out), "chance": chance},
                "asked": bool(found.out) or chance < LEAST_CHANCE,
            }


def _target(truth: np.ndarray, most: float, by: float, rng: np.random.Generator) -> Target:
    """Aims that the truth lies within; but for one line, which it misses."""
    width = rng.uniform(4.0, 8.0, len(NOTES))
    aim = truth + rng.uniform(-most, most, len(NOTES)) * width
    if by:
        line = int(rng.integers(len(NOTES)))
        side = 1.0 if truth[line] < 40.0 else -1.0
        aim[line] = truth[line] + side * by * width[line]
    aim = np.clip(aim, 0.0, 100.0)
    return Target("Ford", tuple(map(TargetLine, NOTES, aim.tolist(), width.tolist())))


def main() -> None:
    """Print the table."""
    houses = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 700
    rows: list[dict[str, object]] = []
    with threadpoolctl.threadpool_limits(1):
        for kind in Kind:
            for seed in range(first, first + houses):
                house = House(seed, kind)
                settings = ProfileSettings(processes=1)
                rows += held(house, estimate_profile(house.scores, settings=settings))
    found = pd.DataFrame(rows)
    print(f"{houses} houses a kind from seed {first}")
    print("kind       missed       blends    out    se  asked    se  chance")
    for name in (*[each.value for each in Kind], "all"):
        some = found if name == "all" else found[found["kind"] == name]
        for missed in MISSED:
            part = some[some["missed"] == missed]
            rates = "  ".join(_rate(part, word) for word in ("out", "asked"))
            print(f"{name:10} {missed:11} {len(part):7d}  {rates}   {part['chance'].mean():.3f}")


def _rate(rows: pd.DataFrame, name: str) -> str:
    by_house = rows.groupby(["kind", "house"])[name]
    off = by_house.sum() - by_house.size() * rows[name].mean()
    return f"{rows[name].mean():.3f} {np.sqrt((off**2).sum()) / len(rows):.3f}"


if __name__ == "__main__":
    main()
