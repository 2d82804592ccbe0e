"""What a vatting's chance is worth: what is said beside what comes true, over invented houses.

Each house of :mod:`tests.bench.vat_worlds` is nosed, fitted and vatted as a user would: twice by
the optimiser for a target that some casks truly come to, four times by hand from a few casks for
a target near what is expected of them, once from a single cask. What is true is drawn from the
house's own casks, its own exponents and its own error of mixing.

    python -m tests.bench.bench_vat_chance [HOUSES_A_KIND] [FIRST_SEED]

Prints by kind and way the mean of what was said and of what came true with the standard error of
their difference (houses are what was drawn, so errors are by house), then both by bands of what
was said.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from itertools import pairwise
from time import process_time

import numpy as np
import pandas as pd
import threadpoolctl

from analysis.profile import ProfileSettings, estimate_profile
from analysis.target import Target, TargetLine
from analysis.vatting import (
    Drawing,
    Limits,
    MixingRule,
    Mixture,
    Stock,
    VattingPlan,
    plan_vatting,
    stock_from_profile,
    try_shares,
)
from tests.bench.vat_worlds import NOTES, House, Kind

DRAWS = 4000
BANDS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
WAYS = ("chosen", "by hand", "one cask")
FEWEST = 5


def stock_of(house: House) -> Stock:
    settings = ProfileSettings(processes=1)
    return stock_from_profile(estimate_profile(house.scores, settings=settings), house.casks)


def vatted(house: House, stock: Stock) -> Iterator[dict[str, object]]:
    """What was said and what came true of some vattings of a house."""
    rng = np.random.default_rng((house.seed, 31))
    rule = MixingRule(dict(zip(NOTES, house.believed, strict=True)))
    for _ in range(2):
        target = _like_casks(house, rng)
        limits = Limits(litres=700, casks_max=8, drawing=Drawing.PART, smallest_draw_litres=20)
        plan = plan_vatting(stock, target, limits, rule)
        if isinstance(plan, VattingPlan):
            yield _row(house, "chosen", target, plan.mixture)
    for count in (2, 3, 5, 8, 1):
        rows = rng.choice(house.n, count, replace=False)
        litres = {house.names[row]: float(rng.uniform(20.0, 100.0)) for row in rows}
        target = _near(stock, rule, litres, rng)
        tried = try_shares(stock, litres, target, Limits(litres=100, drawing=Drawing.PART), rule)
        yield _row(house, "by hand" if count > 1 else "one cask", target, tried.mixture)


def _like_casks(house: House, rng: np.random.Generator) -> Target:
    """What five casks truly come to, as a blender would set it who knew them."""
    rows = rng.choice(house.n, 5, replace=False)
    aims = house.truly(rows.tolist(), np.full(5, 0.2), 1)[0]
    lines = rng.choice(len(NOTES), int(rng.integers(3, 6)), replace=False)
    width = float(rng.uniform(2.5, 5.0))
    return Target(
        "Meander", tuple(TargetLine(NOTES[i], float(round(aims[i])), width) for i in lines)
    )


def _near(
    stock: Stock, rule: MixingRule, litres: dict[str, float], rng: np.random.Generator
) -> Target:
    every = Target("All", tuple(TargetLine(note, 50.0, 5.0) for note in NOTES))
    limits = Limits(litres=100, drawing=Drawing.PART)
    expected = try_shares(stock, litres, every, limits, rule).mixture.expectation.lines
    lines = rng.choice(len(NOTES), int(rng.integers(1, 5)), replace=False)
    width = float(rng.uniform(2.0, 6.0))
    aims = [float(np.clip(round(expected[i].estimate + rng.normal(0, 2.5)), 0, 100)) for i in lines]
    return Target(
        "Near", tuple(TargetLine(NOTES[i], aim, width) for i, aim in zip(lines, aims, strict=True))
    )


def _row(house: House, way: str, target: Target, mixture: Mixture) -> dict[str, object]:
    rows = [house.names.index(part.cask) for part in mixture.parts]
    shares = np.array([part.share_lpa for part in mixture.parts])
    lines = [NOTES.index(line.descriptor) for line in target.lines]
    came = house.truly(rows, shares, DRAWS)[:, lines]
    aim = np.array([line.aim for line in target.lines])
    width = np.array([line.tolerance for line in target.lines])
    expected = np.array([line.estimate for line in mixture.prediction])
    sd = np.array([line.sd for line in mixture.prediction])
    return {
        **{"kind": house.kind.value, "house": house.seed, "way": way},
        "said": mixture.probability,
        "true": float((np.abs(came - aim) <= width).all(axis=1).mean()),
        "bias": float((came.mean(axis=0) - expected).mean()),
        "said_sd": float(np.sqrt((sd**2).mean())),
        "true_sd": float(np.sqrt(((came - expected) ** 2).mean())),
    }


def main() -> None:
    """Print the tables."""
    houses = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 500
    rows, began = [], process_time()
    with threadpoolctl.threadpool_limits(1):
        for kind in Kind:
            for seed in range(first, first + houses):
                house = House(seed, kind)
                rows += list(vatted(house, stock_of(house)))
    found = pd.DataFrame(rows)
    print(f"{houses} houses a kind from seed {first}, {(process_time() - began) / 60:.1f} minutes")
    _print_means(found)
    _print_bands(found)


def _by_house(rows: pd.DataFrame) -> tuple[float, float]:
    """Mean of said less true, and its standard error by house."""
    off = (rows["said"] - rows["true"]).groupby([rows["kind"], rows["house"]]).sum()
    count = len(rows)
    return float(off.sum() / count), float(np.sqrt(len(off)) * off.std(ddof=1) / count)


def _print_means(found: pd.DataFrame) -> None:
    print("\nkind       way       vattings  said  true    off    se   bias  sd said  true")
    for kind in (*[kind.value for kind in Kind], "all"):
        for way in (*WAYS, "every"):
            some = _some(found, kind)
            some = some if way == "every" else some[some["way"] == way]
            spread = [float(np.sqrt((some[name] ** 2).mean())) for name in ("said_sd", "true_sd")]
            print(
                f"{kind:10} {way:9} {_told(some)} {some['bias'].mean():+6.2f}"
                f"    {spread[0]:.2f}  {spread[1]:.2f}"
            )


def _print_bands(found: pd.DataFrame) -> None:
    print("\nkind       said      vattings  said  true    off    se")
    for kind in (*[kind.value for kind in Kind], "all"):
        some = _some(found, kind)
        for low, high in pairwise(BANDS):
            band = some[(some["said"] > low) & (some["said"] <= high)]
            if len(band) > FEWEST:
                print(f"{kind:10} {low:.1f}-{high:.1f}   {_told(band)}")


def _some(found: pd.DataFrame, kind: str) -> pd.DataFrame:
    return found if kind == "all" else found[found["kind"] == kind]


def _told(rows: pd.DataFrame) -> str:
    off, se = _by_house(rows)
    return (
        f"{len(rows):8d}  {rows['said'].mean():.3f} {rows['true'].mean():.3f} {off:+.3f} {se:.3f}"
    )


if __name__ == "__main__":
    main()
