"""Glasses until the right casks are chosen: what the program proposes beside simpler ways.

Each world begins with an empty house and learns people, casks and noises by the program's own
fit. Told: glasses until the mean regret is 1.0 point, the ratio to cask by cask with its bound by
drawing whole worlds again, what was realised of the loss promised at the stop, chances of crossing
the cut told against happened, and how often the intervals of the chosen hold the truth.

    python -m tests.bench.bench_next_glass --worlds 0 200 --out FOLDER [--kind normal] [--told]
        [--workers 2] [--policies raw model cask ours] [--sessions 14] [--until 1.0]
    python -m tests.bench.bench_next_glass --report FOLDER

With `--kind middle` the aim lies in the middle of the line: `--policies ours` alone knows of one.
`--policies known` is ours with everything known but the casks, in normal worlds.
A world that stands in the folder is not run again. With `--told` covariates are known. `--until`
ends a world of ours where so much is promised at most, after six sessions.
"""

from __future__ import annotations

import argparse
import json
import os
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from tests.bench.next_worlds import KINDS

if TYPE_CHECKING:
    from tests.bench.next_policies import Step

SESSIONS = {"raw": 48, "model": 30, "cask": 18, "ours": 14, "known": 12}
"""How long each policy goes on: as long as it may need."""
ASKED = ("raw", "model", "cask", "ours")
LIMITS = (2.0, 1.5, 1.0, 0.75)
_GRID = np.arange(20.0, 2000.0, 5.0)
_FEWEST = 6


def run_world(job: tuple[int, str, bool, tuple[str, ...], int | None, str, float]) -> str:
    """Run one world and keep it."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    from tests.bench.next_known import AllKnown
    from tests.bench.next_policies import POLICIES
    from tests.bench.next_worlds import house

    seed, kind, told, policies, sessions, out, until = job
    path = Path(out) / f"{kind}-{seed:04d}.json"
    kept: dict[str, Any] = json.loads(path.read_text()) if path.exists() else {}
    start = time.perf_counter()
    for name in policies:
        if name not in kept:
            ways = {**POLICIES, AllKnown.name: AllKnown}
            policy = ways[name](house(seed, kind), told=told)
            kept[name] = policy.run(sessions or SESSIONS[name], _at_stop(until))
    path.write_text(json.dumps(kept))
    return f"{path.name} {time.perf_counter() - start:.1f} s"


def _at_stop(until: float) -> Callable[[Step], bool]:
    return lambda step: (
        step.session + 1 >= _FEWEST and step.promised is not None and step.promised <= until
    )


def curve(steps: Sequence[dict[str, Any]], key: str = "regret") -> np.ndarray:
    """A figure of one world at glasses of the grid; missing outside what was poured."""
    glasses = [step["glasses"] for step in steps]
    values = [np.nan if step[key] is None else step[key] for step in steps]
    found: np.ndarray = np.interp(_GRID, glasses, values, left=np.nan, right=np.nan)
    return found


def glasses_to(curves: np.ndarray, limit: float) -> float:
    """Glasses from which the mean over worlds is at or below a limit."""
    there = np.isfinite(curves).mean(axis=0) > 0.9
    mean = np.nanmean(np.where(there, curves, np.nan)[:, there], axis=0)
    below = np.flatnonzero(mean <= limit)
    return float(_GRID[there][below[0]]) if len(below) else np.nan


def paired(ours: np.ndarray, other: np.ndarray, limit: float) -> tuple[float, float]:
    """Ratio of glasses, and the bound that it is below 97.5 times in 100."""
    rng = np.random.default_rng(7)
    n = len(ours)
    ratios = []
    for _ in range(400):
        some = rng.integers(0, n, n)
        ratios.append(glasses_to(ours[some], limit) / glasses_to(other[some], limit))
    whole = glasses_to(ours, limit) / glasses_to(other, limit)
    return whole, float(np.nanquantile(ratios, 0.975))


def stops(worlds: Sequence[dict[str, Any]], promise: float) -> tuple[float, float, float, float]:
    """Promised and realised loss where a promise first holds, its error, and glasses."""
    found = []
    for world in worlds:
        for step in world["ours"]:
            held = step["session"] + 1
            if held >= _FEWEST and step["promised"] is not None and step["promised"] <= promise:
                found.append((step["promised"], step["regret"], step["glasses"]))
                break
    if not found:
        return np.nan, np.nan, np.nan, np.nan
    told, came, glasses = np.array(found, dtype=np.float64).T
    error = came.std(ddof=1) / np.sqrt(len(came)) / told.mean() if len(came) > 1 else np.nan
    return float(told.mean()), float(came.mean()), float(error), float(glasses.mean())


def report(folder: str, kind: str) -> None:
    """Print what the worlds of a kind that stand in a folder come to."""
    worlds = [json.loads(path.read_text()) for path in sorted(Path(folder).glob(f"{kind}-*.json"))]
    if not worlds:
        return
    print(f"{kind}: {len(worlds)} worlds")
    curves = {}
    for name in SESSIONS:
        some = [world[name] for world in worlds if name in world]
        if some:
            curves[name] = np.array([curve(steps) for steps in some])
            shown = " / ".join(f"{glasses_to(curves[name], limit):.0f}" for limit in LIMITS)
            print(f"  {name:6s} glasses to {' / '.join(map(str, LIMITS))}: {shown}")
    both = [world for world in worlds if "ours" in world and "cask" in world]
    if both:
        mine, other = (np.array([curve(w[name]) for w in both]) for name in ("ours", "cask"))
        for limit in LIMITS:
            ratio, bound = paired(mine, other, limit)
            print(f"  to {limit}: {ratio:.2f} of cask by cask, upper bound {bound:.2f}")
    ours = [world for world in worlds if "ours" in world]
    if ours:
        _told_of_ours(ours)


def _told_of_ours(worlds: Sequence[dict[str, Any]]) -> None:
    for promise in (2.0, 1.5, 1.2, 1.0):
        told, came, error, glasses = stops(worlds, promise)
        print(
            f"  stop at {promise}: promised {told:.2f}, realised {came:.2f} "
            f"({came / told:.2f} +- {error:.2f} of it), {glasses:.0f} glasses"
        )
    steps = [step for world in worlds for step in world["ours"]]
    chances = np.concatenate([step["told"] for step in steps])
    happened = np.concatenate([step["happened"] for step in steps]).astype(float)
    print("  crossing the cut, told / happened (forecasts):")
    for low in np.arange(0.0, 1.0, 0.1):
        inside = (chances >= low) & (chances < low + 0.1)
        if inside.any():
            said = f"{chances[inside].mean():.2f} / {happened[inside].mean():.2f}"
            print(f"    {low:.1f}: {said} ({int(inside.sum())})")
    late = [s["covered"] for s in steps if s["session"] + 1 >= _FEWEST and s["covered"] is not None]
    print(f"  intervals of the chosen hold the truth: {np.mean(late):.3f}")


def main() -> None:
    """Run worlds, or tell of them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--worlds", type=int, nargs=2, default=(0, 20))
    parser.add_argument("--out", default="/tmp/next-glass")
    parser.add_argument("--kind", default="normal")
    parser.add_argument("--told", action="store_true")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--policies", nargs="+", default=list(ASKED))
    parser.add_argument("--sessions", type=int)
    parser.add_argument("--until", type=float, default=-1.0)
    parser.add_argument("--report")
    asked = parser.parse_args()
    if asked.report is None:
        Path(asked.out).mkdir(parents=True, exist_ok=True)
        jobs = [
            (
                *(seed, asked.kind, asked.told, tuple(asked.policies), asked.sessions),
                *(asked.out, asked.until),
            )
            for seed in range(*asked.worlds)
        ]
        if asked.workers < 2:
            for job in jobs:
                print(run_world(job), flush=True)
        else:
            with ProcessPoolExecutor(asked.workers) as pool:
                for said in pool.map(run_world, jobs):
                    print(said, flush=True)
    for kind in KINDS:
        report(asked.report or asked.out, kind)


if __name__ == "__main__":
    main()
