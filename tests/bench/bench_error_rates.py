"""How often each test cries wolf, and whether intervals hold what they say.

Run: .venv/bin/python -m tests.bench.bench_error_rates [PANELS]

1,000 made-up panels (or so many as are asked for) in which the samples do not differ, 8 assessors
by 6 samples by 2, complete and with a fifth of the glasses missing, for three sizes of
disagreement (interaction variance over residual variance). Each test should reject 5 in 100
within Monte-Carlo error, three standard errors of which are printed. Then the same for tests on
own words, and how often intervals hold the truth.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial

import numpy as np

from analysis.agreement.indices.agree import intraclass
from analysis.agreement.indices.anova import two_way_mixed
from analysis.agreement.indices.distributions import adjusted_for_many
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.indices.permute import permutation_p
from analysis.agreement.indices.reliability import panel_reliability
from analysis.agreement.one_session.figures import Figures, descriptor_figures
from analysis.agreement.own_words.axes import shared_axes
from analysis.agreement.own_words.procrustes import procrustes_test
from analysis.agreement.own_words.rv import rv_with_others
from analysis.agreement.settings import AgreementSettings

PEOPLE, SAMPLES, TIMES = 8, 6, 2
RATIOS = (0.0, 0.15, 0.5)
MISSING = 0.2
LEVEL = 0.05
Rates = dict[str, float]


def panel(seed: int, ratio: float, *, missing: float = 0.0, effect: float = 0.0) -> ScoreLayout:
    """One panel: noise sd 1, offsets sd 2, samples `effect` sds of a sample mean apart."""
    rng = np.random.default_rng(seed)
    i, j, _ = np.indices((PEOPLE, SAMPLES, TIMES)).reshape(3, -1)
    place = np.linspace(-1.0, 1.0, SAMPLES)
    place *= effect * np.sqrt((ratio + 1.0 / TIMES) / PEOPLE) / place.std()
    opinion = rng.normal(0.0, np.sqrt(ratio), (PEOPLE, SAMPLES))
    y = rng.normal(0, 2, PEOPLE)[i] + opinion[i, j] + place[j] + rng.normal(0, 1, len(i))
    names = tuple(f"P{n}" for n in range(PEOPLE)), tuple(f"x{n}" for n in range(SAMPLES))
    kept = rng.random(len(y)) >= missing
    layout = ScoreLayout(*names, i[kept], j[kept], y[kept])
    return layout if len(np.unique(layout.sample)) == SAMPLES else panel(seed + 10**6, ratio)


def found(seed: int, ratio: float, missing: float) -> dict[str, float | None]:
    """P of every test on one panel."""
    settings = AgreementSettings(permutations=999, bootstraps=2)
    figures = descriptor_figures(panel(seed, ratio, missing=missing), settings, seed)
    return {
        "F the verdict leans on": figures.effect.p,
        "REML, Satterthwaite": figures.effect_reml.p,
        "permutation": figures.permutation_p,
        **_orders(figures),
        "scaling model, samples": figures.scaling.p_sample,
        "scaling model, scaling": figures.scaling.p_scaling,
        "scaling model, disagreement": figures.scaling.p_disagreement if ratio == 0.0 else None,
    }


def _orders(figures: Figures) -> dict[str, float | None]:
    test, order = figures.unbalanced.order, figures.concordance
    return {
        "Friedman, those who had all": None if order is None else order.p,
        "rank test for holes": None if test is None else test.p,
    }


def mostly_zero(seed: int) -> dict[str, float | None]:
    """Seven in ten scores are zero."""
    layout = panel(seed, 0.15)
    rng = np.random.default_rng(seed)
    score = np.where(
        rng.random(len(layout.score)) < 0.7, 0.0, rng.integers(1, 40, layout.score.size)
    )
    return {"permutation, mostly zeros": permutation_p(replace(layout, score=score), seed=seed)}


def own_words(seed: int) -> dict[str, float | None]:
    """Eight people, four words each, six glasses, nothing in common."""
    rng = np.random.default_rng(seed)
    tables = [rng.normal(size=(SAMPLES, 4)) for _ in range(PEOPLE)]
    return {
        "RV with the others": rv_with_others(tables, permutations=199, seed=seed)[0].p,
        "first shared axis": float(shared_axes(tables, permutations=199, seed=seed)[1][0]),
        "Procrustes": procrustes_test(tables, permutations=199, seed=seed).p,
    }


def rates(results: Iterable[Mapping[str, float | None]]) -> Rates:
    """Share of p at or below the level, of those that could be had."""
    table: dict[str, list[float]] = {}
    for row in results:
        for name, p in row.items():
            if p is not None:
                table.setdefault(name, []).append(p)
    return {name: float(np.mean(np.array(p) <= LEVEL)) for name, p in table.items()}


def false_share(p: Sequence[float | None], notes: int = 10) -> float:
    """Share of sessions of ten like notes in which any is called different."""
    known = np.array([value for value in p if value is not None])
    sessions = known[: len(known) // notes * notes].reshape(-1, notes)
    return float(np.mean([adjusted_for_many(row).min() <= LEVEL for row in sessions]))


def icc_held(seed: int, offsets: float) -> dict[str, bool]:
    """Whether the 95 % intervals hold the truth, samples drawn at random too."""
    rng = np.random.default_rng(seed)
    i, j = np.indices((PEOPLE, 12))
    noise = 0.15 + 1.0 / TIMES
    table = (
        rng.normal(0, offsets, PEOPLE)[i]
        + rng.normal(0, 1, 12)[j]
        + rng.normal(0, noise**0.5, i.shape)
    ).T
    icc = intraclass(table)
    if icc is None:
        return {}
    true = {
        "2,1": 1.0 / (1.0 + offsets**2 + noise),
        "2,k": 1.0 / (1.0 + (offsets**2 + noise) / PEOPLE),
        "3,1": 1.0 / (1.0 + noise),
        "3,k": 1.0 / (1.0 + noise / PEOPLE),
    }
    if offsets == 0.0:
        true |= {"1,1": true["3,1"], "1,k": true["3,k"]}
    return {form: icc[form].low <= value <= icc[form].high for form, value in true.items()}


def reliability_side(seed: int, effect: float) -> tuple[bool, bool]:
    """Whether the truth lies below the lower or above the upper 80 % bound."""
    layout = panel(seed, 0.15, effect=effect)
    sample = two_way_mixed(layout).sample
    if sample is None:
        return False, False
    true = 1.0 - 1.0 / (1.0 + effect**2 * SAMPLES / (SAMPLES - 1.0))
    bounds = panel_reliability(layout, sample.f, bootstraps=199, seed=seed)
    return true < bounds.low, true > bounds.high


def run(task: Callable[[int], object], panels: int) -> list:  # type: ignore[type-arg]
    """Do one task for every seed, on two processes."""
    with ProcessPoolExecutor(2) as pool:
        return list(pool.map(task, range(panels), chunksize=25))


def show_tests(panels: int) -> None:
    """Print the table of false alarms."""
    worlds = [(ratio, missing) for missing in (0.0, MISSING) for ratio in RATIOS]
    results = {w: run(partial(found, ratio=w[0], missing=w[1]), panels) for w in worlds}
    columns = {world: rates(rows) for world, rows in results.items()}
    names = list(dict.fromkeys(name for column in columns.values() for name in column))
    heading = "".join(f"{'holes' if m else 'full'} {r:>4}".rjust(12) for r, m in worlds)
    print(f"{'rejected in 100, interaction ratio':36}{heading}")
    for name in names:
        cells = [columns[world].get(name) for world in worlds]
        row = "".join(f"{'-' if c is None else f'{100 * c:.1f}':>12}" for c in cells)
        print(f"{name:36}{row}")
    shares = [false_share([row["F the verdict leans on"] for row in results[w]]) for w in worlds]
    print(
        f"{'any of ten notes, false share .05':36}" + "".join(f"{100 * s:>12.1f}" for s in shares)
    )


def show_others(panels: int) -> None:
    """Print the false alarms of the tests that have worlds of their own."""
    for task in (mostly_zero, own_words):
        for name, rate in rates(run(task, panels)).items():
            print(f"{name:36}{100 * rate:>12.1f}")


def show_intervals(panels: int) -> None:
    """Print how often intervals hold the truth."""
    print(f"\n{'intervals that hold the truth, in 100':40}{'says':>8}{'does':>8}")
    for offsets in (0.0, 1.0):
        held = run(partial(icc_held, offsets=offsets), panels)
        for form in sorted({name for row in held for name in row}):
            share = np.mean([row[form] for row in held if form in row])
            label = f"intraclass {form}, offsets sd {offsets:g}"
            print(f"{label:40}{95:>8}{100 * share:>8.1f}")
    for effect in (1.5, 3.0):
        sides = np.array(run(partial(reliability_side, effect=effect), panels))
        inside = 1.0 - sides.sum(axis=1).mean()
        label = f"reliability, effect {effect:g}"
        print(f"{label:40}{80:>8}{100 * inside:>8.1f}   (below {100 * sides[:, 0].mean():.1f})")


def main() -> None:
    """Run everything."""
    panels = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    started = time.perf_counter()
    slack = 300.0 * np.sqrt(LEVEL * (1.0 - LEVEL) / panels)
    print(f"{panels} panels, {PEOPLE} x {SAMPLES} x {TIMES}; 5 +- {slack:.1f} is chance\n")
    show_tests(panels)
    show_others(panels)
    show_intervals(panels)
    print(f"\n{time.perf_counter() - started:.0f} s")


if __name__ == "__main__":
    main()
