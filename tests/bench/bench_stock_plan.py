"""What a plan of the stock costs and is worth: `python -m tests.bench.bench_stock_plan [ROW ...]`.

large        24,000 casks, 12 notes, 25 releases over five years, a stock that suffices and a tight
             one: plan, bound, gap (meant: within 10 % of the bound or 1 point), seconds (180), peak
             memory (1,500 MB); `suffices` or `tight` runs one of them
middle       3,000 casks (5 s)
change       the same large stock: a cask held, a release moved, a note widened, from the last plan
             (meant: a third of the time)
worlds A B   worlds A to B of 3,000 casks beside release after release (never worse)
cut          20 cut-down stocks: the bound and the plan beside the full integer program
small A B    cut-down stocks A to B, below 200 casks, up to 5 releases, in parts, whole casks or few
             casks, from 24 on with wider tolerances: whether the full integer program proves its
             plan, at which node, how long
chance       printed chances beside a simulation written apart (within .05)
surest       the chance of all together before casks are exchanged and after, by fresh draws, and
             whether any release lies farther out

Processor seconds are printed beside those of the clock: on a busy machine the clock counts others.
"""

from __future__ import annotations

import resource
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from time import perf_counter, process_time
from typing import Any
from unittest.mock import patch

import numpy as np
import threadpoolctl

from analysis.array_types import Floats
from analysis.stock_plan import PlanQuestion, StockPlan, plan_stock
from analysis.stock_plan import choose as choosing
from analysis.stock_plan.blocks import Problem, build_problem
from analysis.stock_plan.chances import Vatting, reckon
from analysis.stock_plan.choose import choose
from analysis.stock_plan.chosen import Chosen
from analysis.stock_plan.program import Solved, solve_program
from analysis.stock_plan.surest import surest
from analysis.target import Target
from analysis.vatting import Drawing
from analysis.vatting.mixing import EXPONENT_DOUBT
from tests.bench.plan_worlds import World

LARGE, MIDDLE = 24_000, 3_000
SCALES = {"suffices": 1.0, "tight": 1.2}
_SIMULATED = 4000
_BUSY = 3600.0
"""A limit that a busy machine does not meet: what ends by itself ends by counts of work."""


def timed(
    name: str, question: PlanQuestion, seconds: float = _BUSY, begin: StockPlan | None = None
) -> StockPlan:
    """Plan, and print what it cost and came to."""
    clock, processor = perf_counter(), process_time()
    plan = plan_stock(question, seconds=seconds, begin=begin)
    clock, processor = perf_counter() - clock, process_time() - processor
    allowed = max(1.0, 0.1 * plan.bound)
    print(
        f"{name}: {plan.objective:.2f} points, bound {plan.bound:.2f}, gap {plan.gap:.2f} of "
        f"{allowed:.2f} allowed; release after release {plan.alone_objective:.1f}; "
        f"{clock:.1f} s ({processor:.1f} of processor), {peak():.0f} MB; {plan.ended.value}",
        flush=True,
    )
    return plan


def peak() -> float:
    """Peak memory so far, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000.0


def large(names: Sequence[str] = tuple(SCALES)) -> None:
    """Both large stocks."""
    for name, scale in ((name, SCALES[name]) for name in names):
        timed(f"{LARGE:,} casks, {name}", World(LARGE, 0, scale).question())


def middle() -> None:
    """A stock of a middling house."""
    for name, scale in SCALES.items():
        timed(f"{MIDDLE:,} casks, {name}", World(MIDDLE, 0, scale).question())


def change(casks: int = LARGE) -> None:
    """One thing changed, from the last plan and anew."""
    question = World(casks, 0, SCALES["tight"]).question()
    first = timed("the plan", question)
    for name, changed in changes(question, first).items():
        timed(f"{name}, from the last plan", changed, begin=first)
        timed(f"{name}, anew", changed)


def changes(question: PlanQuestion, plan: StockPlan) -> dict[str, PlanQuestion]:
    """A cask held, a release moved by a year, a note widened."""
    cask = plan.releases[0].casks[0]
    held = [
        replace(each, limits=replace(each.limits, must_exclude=(cask,)))
        for each in question.releases
    ]
    days = sorted(question.stocks)
    first = question.releases[0]
    moved = [replace(first, on=days[1]), *question.releases[1:]]
    lines = list(first.target.lines)
    lines[0] = replace(lines[0], tolerance=2.0 * lines[0].tolerance)
    target = Target(first.target.name, tuple(lines))
    widened = [replace(first, target=target), *question.releases[1:]]
    return {
        "a cask held": replace(question, releases=tuple(held)),
        "a release moved": replace(question, releases=tuple(moved)),
        "a note widened": replace(question, releases=tuple(widened)),
    }


def worlds(first: int = 0, last: int = 40) -> None:
    """Planning ahead beside release after release."""
    saved, worse = [], 0
    for seed in range(first, last):
        problem = build_problem(World(MIDDLE, seed, 1.0).question())
        processor = process_time()
        chosen = choose(problem, _BUSY)
        alone = problem.value(chosen.alone)
        saved.append(alone - chosen.objective)
        worse += chosen.objective > alone + 1e-9
        print(
            f"world {seed}: plan {chosen.objective:.1f}, bound {chosen.bound:.1f}, release after "
            f"release {alone:.1f}, saves {saved[-1]:.1f}; {process_time() - processor:.1f} s of "
            "processor",
            flush=True,
        )
    print(
        f"{len(saved)} worlds: worse in {worse}; saves {np.mean(saved):.1f} points on average, "
        f"{min(saved):.1f} to {max(saved):.1f}"
    )


def cut() -> None:
    """Cut-down stocks beside the full integer program."""
    for seed in range(20):
        world = World(150, seed, 0.5)
        question = world.question()
        few = tuple(each for at, each in enumerate(question.releases) if at % 5 in (2, 3))[:6]
        problem = build_problem(replace(question, releases=few))
        chosen = choose(problem, _BUSY)
        full = solve_program(problem, 60.0, 200)
        if full is None:
            print(f"stock {seed}: no answer of the full program in time")
            continue
        said = "holds" if chosen.bound <= full.objective + 1e-6 else "FAILS"
        print(
            f"stock {seed}: bound {chosen.bound:.3f}, full program {full.bound:.3f} to "
            f"{full.objective:.3f}, plan {chosen.objective:.3f}; the bound {said}",
            flush=True,
        )


KINDS = ("parts", "whole casks", "few casks")
_TIGHT, _WIDE = 24, 5.0
"""Up to that stock tolerances are a point on each of twelve notes, of small blends two; beyond, so
many times as wide."""


def small_house(seed: int) -> tuple[str, PlanQuestion]:
    """A cut-down stock with some of the releases of a world, and what kind it is."""
    rng = np.random.default_rng([7, seed])
    casks, releases = int(rng.choice([60, 100, 150, 199])), int(rng.choice([2, 3, 4, 5]))
    scale, kind = float(rng.choice([0.5, 0.8, 1.2])), KINDS[seed % len(KINDS)]
    drawing = Drawing.WHOLE if kind == "whole casks" else Drawing.PART
    wide = 1.0 if seed < _TIGHT else _WIDE
    question = World(casks, seed, scale, wide=wide).question(drawing=drawing)
    which = sorted(rng.choice(len(question.releases), releases, replace=False))
    some = [question.releases[at] for at in which]
    if kind == "few casks":
        some = [
            replace(each, limits=replace(each.limits, casks_max=int(rng.integers(4, 9))))
            for each in some
        ]
    return f"{casks} casks, {releases} releases, {kind}", replace(question, releases=tuple(some))


def small(first: int = 0, last: int = 24) -> None:
    """At which node the full integer program proves its plan, over houses that it runs in."""
    at_node: list[int] = []
    for seed in range(first, last):
        said, question = small_house(seed)
        problem = build_problem(question)
        processor = process_time()
        with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
            chosen, nodes = _counted(problem)
        processor = process_time() - processor
        if chosen.proven:
            at_node.append(nodes)
        print(
            f"stock {seed} ({said}): {chosen.objective:.3f} points, bound {chosen.bound:.3f}; "
            f"{chosen.ended.value}, at node {nodes:,}, {processor:.1f} s of processor",
            flush=True,
        )
    below = {limit: sum(nodes < limit for nodes in at_node) for limit in (50, 200, 500, 1000, 2000)}
    print(f"{last - first} stocks, proven {len(at_node)}; below so many nodes: {below}")


def _counted(problem: Problem) -> tuple[Chosen, int]:
    """Choose, and say at which node of its last tree the full program ended."""
    ended = [0]

    def counted(*given: Any) -> Solved | None:
        found = solve_program(*given)
        ended.append(0 if found is None else found.nodes)
        return found

    with patch.object(choosing, "solve_program", counted):
        return choose(problem, _BUSY), ended[-1]


def chance() -> None:
    """Chances beside futures drawn by other code: panel, casks, exponents, rule, mixed by hand."""
    for seed in range(3):
        question = unsure(seed)
        plan = plan_stock(question, seconds=_BUSY)
        each, joint = simulated(question, plan, np.random.default_rng(seed + 1000))
        told = [release.probability or 0.0 for release in plan.releases]
        off = [abs(one - other) for one, other in zip(told, each, strict=True)]
        print(
            f"world {seed}: furthest off {max(off):.3f} of {len(off)} chances from {min(told):.2f} "
            f"to {max(told):.2f}; joint {plan.joint:.3f}, simulated {joint:.3f}; product of the "
            f"single ones {np.prod(told):.3f}",
            flush=True,
        )


def unsure(seed: int, wide: float = 9.0) -> PlanQuestion:
    """A world in which all together come right neither never nor always."""
    world = World(MIDDLE, seed, 0.7, sd=5.0, panel_sd=1.0, wide=wide)
    return world.question(rule_sd=1.0, kappa=1.5)


def surer() -> None:
    """How much surer all together are for the exchanges."""
    rises = []
    for seed in range(3):
        for wide in (5.0, 8.0, 11.0):
            problem = build_problem(unsure(seed, wide))
            with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
                chosen = choose(problem, _BUSY)
                processor = process_time()
                after = surest(problem, chosen.fractions)
            processor = process_time() - processor
            told = [together(problem, plan) for plan in (chosen.fractions, after)]
            worse = max(
                float(block.model.soft_weight @ (block.model.outside(b) - block.model.outside(a)))
                for block, a, b in zip(problem.blocks, chosen.fractions, after, strict=True)
            )
            rises.append(told[1] - told[0])
            print(
                f"world {seed}, tolerance {wide:g}: together {told[0]:.3f} -> {told[1]:.3f}; "
                f"farthest out by {max(worse, 0.0):.6f} more; {processor:.1f} s of processor",
                flush=True,
            )
    print(f"{len(rises)} worlds: rises by {np.mean(rises):.3f} on average, least {min(rises):.3f}")


def together(problem: Problem, plan: list[Floats]) -> float:
    """Chance of all releases of a plan, from the draws that are told."""
    told = reckon(
        [
            Vatting(block.task, block.casks[part > 0.0], (block.model.litres * part)[part > 0.0])
            for block, part in zip(problem.blocks, plan, strict=True)
            if np.any(part > 0.0)
        ]
    )
    return told.joint or 0.0


def simulated(
    question: PlanQuestion, plan: StockPlan, rng: np.random.Generator
) -> tuple[list[float], float]:
    """Share of futures in which each release, and all, lie within their tolerances."""
    stock = question.stocks[question.last_day]
    shape = (_SIMULATED, len(stock.descriptors))
    panel = rng.normal(0.0, 1.0, shape) * np.array(list(stock.panel_sd.values()))
    used = sorted({cask for release in plan.releases for cask in release.casks})
    place = {cask: at for at, cask in enumerate(used)}
    right = np.ones((len(plan.releases), _SIMULATED), dtype=bool)
    exponents = np.exp(rng.normal(0.0, EXPONENT_DOUBT, shape))  # true ones about a believed 1
    targets = {release.name: release.target for release in question.releases}
    for note in range(shape[1]):
        own = rng.standard_normal((_SIMULATED, len(used)), dtype=np.float32)
        n = exponents[:, note]
        for at, release in enumerate(plan.releases):
            there = question.stocks[release.on]
            parts = release.mixture.parts if release.mixture else ()
            lpa = np.array([part.lpa for part in parts])
            rows = [there.position[part.cask] for part in parts]
            errors = own[:, [place[part.cask] for part in parts]] * there.sd[rows, note]
            scores = np.clip(there.estimate[rows, note] + errors, 0.0, 100.0)
            mixed = (scores ** (1.0 / n[:, None]) @ (lpa / lpa.sum())) ** n + panel[:, note]
            mixed += rng.normal(0.0, question.rule.rule_sd, _SIMULATED)
            line = targets[release.name].lines[note]
            low, high = line.aim - line.tolerance, line.aim + line.tolerance
            right[at] &= ((mixed >= low) | (low <= 0.0)) & ((mixed <= high) | (high >= 100.0))
    return right.mean(axis=1).tolist(), float(right.all(axis=0).mean())


ROWS: dict[str, Callable[[], None]] = {
    "large": large,
    "middle": middle,
    "change": change,
    "worlds": worlds,
    "cut": cut,
    "small": small,
    "chance": chance,
    "surest": surer,
}


def main(asked: Sequence[str]) -> None:
    """Run the rows that are asked for; all without."""
    numbers = [int(word) for word in asked if word.isdigit()]
    for name in [word for word in asked if not word.isdigit()] or list(ROWS):
        if name in {"worlds", "small"} and len(numbers) == 2:
            {"worlds": worlds, "small": small}[name](*numbers)
        elif name == "change" and len(numbers) == 1:
            change(*numbers)
        elif name in SCALES:
            large([name])
        else:
            ROWS[name]()


if __name__ == "__main__":
    main(sys.argv[1:])
