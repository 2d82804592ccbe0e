"""Vatting at full size: 24,000 casks, 12 descriptors, beside the plain full formulation.

    python -m tests.bench.bench_vatting [--plain-seconds 60] [--casks 24000]

Prints, for each release: casks, objective, bound over all eligible casks, gap, seconds of solving
for the tolerance band alone and with tightening, the chance shown and the chance by a simulation
written apart from the package, and what the plain full formulation found in the time it was given.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from time import perf_counter, process_time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
import pandas as pd

from analysis.target import Target, TargetLine
from analysis.vatting import (
    Drawing,
    Limits,
    MixingRule,
    Share,
    Stock,
    VattingPlan,
    plan_vatting,
    try_shares,
)
from analysis.vatting.integer import solve_integer
from analysis.vatting.model import Model, build_model
from analysis.vatting.solve import PROVEN_GAP, solve
from analysis.vatting.task import band_of, make_task

NOTES = (
    *("hearth smoke", "custard skin", "plum stone", "orchard skin", "warm flour", "wet slate"),
    *("burnt sugar edge", "walnut skin", "pencil box", "struck match", "pepper husk", "wax"),
)
POTENT = ("hearth smoke", "struck match")
WOODS = ("barrel", "hogshead", "remade hogshead", "butt", "puncheon", "barrique")
WOOD_SHARES = (0.40, 0.20, 0.15, 0.10, 0.10, 0.05)
SIZES_L = (195.0, 245.0, 245.0, 480.0, 480.0, 225.0)
RULE = MixingRule(dict.fromkeys(POTENT, 0.5))
SIMULATED = 200_000


def invented_stock(n: int, seed: int) -> Stock:
    """An invented warehouse: woods, ages, strengths, notes that grow with age."""
    rng = np.random.default_rng(seed)
    wood = rng.choice(len(WOODS), n, p=WOOD_SHARES)
    age = rng.gamma(4.0, 2.5, n).clip(1.0, 45.0)
    abv = (63.5 - 0.45 * age + rng.normal(0.0, 1.2, n)).clip(41.0, 66.0)
    litres = np.array(SIZES_L)[wood] * rng.uniform(0.6, 0.97, n)
    level = rng.uniform(10.0, 45.0, (len(WOODS), len(NOTES)))
    grown = 0.4 + 0.6 * (1.0 - np.exp(-age / 8.0))
    scores = level[wood] * grown[:, None] + rng.normal(0.0, 6.0, (n, len(NOTES)))
    peated = rng.random(n) < 0.2
    smoke = np.where(peated, 45.0 * np.exp(-age / 25.0) + rng.normal(0.0, 7.0, n), 4.0)
    scores[:, 0] = smoke + rng.normal(0.0, 2.0, n)
    casks = pd.DataFrame(
        {
            "cask": [f"SW{i:05d}" for i in range(n)],
            "filling": [f"SW{i:05d}/1" for i in range(n)],
            "wood": np.array(WOODS)[wood],
            "age_years": age,
            "abv": abv,
            "bulk_l": litres,
            "status": "filled",
        }
    )
    return Stock(casks, NOTES, scores.clip(0.0, 100.0), rng.uniform(2.0, 7.0, (n, len(NOTES))))


def reachable_target(stock: Stock, seed: int, tolerance: float) -> Target:
    """What twenty casks of twelve years and more come to in equal parts."""
    rng = np.random.default_rng(seed)
    old = np.flatnonzero(stock.age_years >= 12.0)
    chosen = rng.choice(old, 20, replace=False)
    n = RULE.exponents_of(NOTES)
    aims = (stock.estimate[chosen] ** (1.0 / n)).mean(axis=0) ** n
    lines = [TargetLine(name, float(aim), tolerance) for name, aim in zip(NOTES, aims, strict=True)]
    return Target("Sallow Weir, invented", tuple(lines))


def releases() -> Mapping[str, Limits]:
    part, butt = Drawing.PART, Share.about("wood", "remade hogshead", 0.3)
    wide = Share.about("wood", "remade hogshead", 0.3, within=0.02)
    first = Limits(
        bottles=6000,
        drawing=part,
        smallest_draw_litres=30.0,
        age_statement_years=12,
        shares=(butt,),
        casks_min=10,
        casks_max=40,
    )
    few = replace(first, bottles=1200, shares=(), casks_min=3, casks_max=12)
    return {
        "6,000 bottles, wood share, 12 years, 10 to 40 casks": first,
        "the same, leave 60 L or empty": replace(first, leave_litres=60.0),
        "24,000 bottles, all casks eligible": Limits(
            bottles=24_000, drawing=part, smallest_draw_litres=30.0
        ),
        "1,200 bottles, 12 years, 3 to 12 casks": few,
        "6,000 bottles, whole casks only": replace(first, drawing=Drawing.WHOLE, shares=(wide,)),
        "1,200 bottles, 3 to 12 casks, whole casks only": replace(few, drawing=Drawing.WHOLE),
    }


@dataclass(frozen=True)
class Timed:
    """Seconds by the clock and of the processor."""

    wall: float
    cpu: float

    def __str__(self) -> str:
        return f"{self.wall:.2f} s (processor {self.cpu:.2f})"


def independent_chance(
    stock: Stock, target: Target, plan: VattingPlan, seed: int = 99, chunk: int = 20_000
) -> float:
    """Share of simulated vattings with every line within tolerance; plain and by counting."""
    rng = np.random.default_rng(seed)
    rows = [stock.position[part.cask] for part in plan.mixture.parts]
    lpa = np.array([part.litres * part.abv_percent for part in plan.mixture.parts])
    weights = (lpa / lpa.sum())[:, None]
    power = np.array([2.0 if name in POTENT else 1.0 for name in NOTES])
    aim = np.array([line.aim for line in target.lines])
    tolerance = np.array([line.tolerance for line in target.lines])
    right = 0
    for _ in range(SIMULATED // chunk):
        casks = rng.normal(stock.estimate[rows], stock.sd[rows], (chunk, len(rows), len(NOTES)))
        mixed = (np.clip(casks, 0.0, 100.0) ** power * weights).sum(axis=1) ** (1.0 / power)
        nosed = np.clip(mixed + rng.normal(0.0, 1.5, mixed.shape), 0.0, 100.0)
        right += int((np.abs(nosed - aim) <= tolerance).all(axis=1).sum())
    return right / SIMULATED


def plain(model: Model, seconds: float) -> str:
    """What the integer program finds over all eligible casks at once."""
    began = perf_counter()
    program = solve_integer(model, seconds)
    took = perf_counter() - began
    if program.fractions is None:
        return f"nothing in {took:.1f} s"
    return f"objective {model.objective(program.fractions):.5f} in {took:.1f} s"


def bench_release(
    name: str, stock: Stock, target: Target, limits: Limits, plain_seconds: float
) -> None:
    print(f"\n{name}")
    task = make_task(stock, target, limits, RULE)
    model = build_model(task, band_of(task))
    wall, cpu = perf_counter(), process_time()
    one = solve(model)
    once = Timed(perf_counter() - wall, process_time() - cpu)
    wall, cpu = perf_counter(), process_time()
    plan = plan_vatting(stock, target, limits, RULE)
    whole = Timed(perf_counter() - wall, process_time() - cpu)
    assert isinstance(plan, VattingPlan)
    within = "" if one.gap <= PROVEN_GAP else "   MORE THAN .001"
    print(f"  eligible {model.n:,}; tolerance band alone: {once}, {one.method.value}")
    print(f"    objective {one.objective:.5f}, bound {one.bound:.5f}, gap {one.gap:.5f}{within}")
    print(f"  with tightening: {plan.solver_seconds:.2f} s of solving, {whole} in all")
    for turn in plan.rounds:
        print(
            f"    kappa {turn.kappa:4.2f}: chance {turn.probability or 0:.3f}, {turn.n_casks} "
            f"casks, objective {turn.objective:.5f}, bound {turn.bound:.5f}"
        )
    print(
        f"  {plan.mixture.poured.bottles:,} bottles of {len(plan.mixture.parts)} casks, gap "
        f"{plan.gap:.5f}, {'proven' if plan.proven else 'not proven'}"
    )
    counted = independent_chance(stock, target, plan)
    apart = abs(counted - plan.probability)
    too_far = "" if apart <= 0.03 else "   MORE THAN .03"
    print(
        f"  chance shown {plan.probability:.3f}, counted {counted:.3f}, {apart:.3f} apart{too_far}"
    )
    bench_live(stock, target, limits, plan)
    if plain_seconds > 0:
        began = perf_counter()
        print(f"  plain full formulation: {plain(model, plain_seconds)}", flush=True)
        print(f"    {(perf_counter() - began) / once.wall:.0f} times as long as the above")


def bench_live(stock: Stock, target: Target, limits: Limits, plan: VattingPlan) -> None:
    parts = {part.cask: part.litres for part in plan.mixture.parts}
    wall, cpu = [], []
    for _ in range(9):
        parts[plan.mixture.casks[0]] *= 0.99
        began, used = perf_counter(), process_time()
        try_shares(stock, parts, target, limits, RULE)
        wall.append(1000.0 * (perf_counter() - began))
        cpu.append(1000.0 * (process_time() - used))
    print(
        f"  a share moved by hand: {np.median(wall):.1f} ms at the median (processor "
        f"{np.median(cpu):.1f}), the first {wall[0]:.1f} ms"
    )


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--casks", type=int, default=24_000)
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--tolerance", type=float, default=5.0)
    arguments.add_argument("--plain-seconds", type=float, default=60.0)
    given = arguments.parse_args()
    stock = invented_stock(given.casks, given.seed)
    target = reachable_target(stock, given.seed + 4, given.tolerance)
    print(f"{given.casks:,} casks x {len(NOTES)} descriptors, tolerance {given.tolerance:g}")
    for name, limits in releases().items():
        bench_release(name, stock, target, limits, given.plain_seconds)


if __name__ == "__main__":
    main()
