"""Small stocks over a few years, and plans of them by trying everything."""

from __future__ import annotations

from datetime import date
from itertools import product

import numpy as np
import pandas as pd

from analysis.array_types import Floats
from analysis.stock_plan import HouseLimits, PlannedRelease, PlanQuestion
from analysis.target import Target, TargetLine
from analysis.vatting import Limits, MixingRule, Stock

TODAY = date(2027, 1, 4)
NOTES = ("fen smoke", "plum stone")
ABV = 60.0


def day(year: int) -> date:
    return date(year, 7, 1)


def stock(
    scores: Floats, years: int, litres: Floats, *, sd: float = 0.0, age: float = 10.0
) -> Stock:
    """Casks that age and grow by a point of the first note a year."""
    grown = scores + np.array([1.0, 0.0]) * years
    casks = pd.DataFrame(
        {
            "cask": [f"C{row:02d}" for row in range(len(scores))],
            "filling": [f"C{row:02d}/1" for row in range(len(scores))],
            "age_years": age + years,
            "abv": ABV,
            "bulk_l": litres * 0.98**years,
            "make": ["Ember" if row % 2 else "Fen" for row in range(len(scores))],
        }
    )
    return Stock(casks, NOTES, grown, np.full_like(grown, sd), as_of=day(2027 + years))


def release(name: str, years: int, aim: tuple[float, float], limits: Limits) -> PlannedRelease:
    lines = (TargetLine(note, at, 2.0) for note, at in zip(NOTES, aim, strict=True))
    return PlannedRelease(name, day(2027 + years), Target(name, tuple(lines)), limits)


def question(
    seed: int,
    casks: int = 7,
    releases: int = 2,
    *,
    limits: Limits | None = None,
    house: HouseLimits = HouseLimits(),  # noqa: B008  (frozen)
    sd: float = 0.0,
) -> PlanQuestion:
    """A small question: two casks or so a release, targets that the stock nearly meets."""
    rng = np.random.default_rng(seed)
    scores = rng.uniform(10.0, 60.0, (casks, 2))
    litres = rng.uniform(150.0, 220.0, casks)
    limits = limits or Limits(litres=450.0, abv_percent=46.0, excess_fraction=0.25)
    return PlanQuestion(
        TODAY,
        {day(2027 + year): stock(scores, year, litres, sd=sd) for year in range(releases)},
        tuple(
            release(f"R{year}", year, tuple(rng.uniform(25.0, 45.0, 2)), limits)
            for year in range(releases)
        ),
        house,
        MixingRule(rule_sd=0.0),
        kappa=0.0,
    )


def best_of_all(asked: PlanQuestion) -> float:
    """Fewest weighted points of any way to deal whole casks out, quantities kept.

    Written apart from the code under test; infinite where no way fills every release.
    """
    releases, n = asked.releases, len(asked.casks)
    best = np.inf
    for dealt in product(range(len(releases) + 1), repeat=n):
        way = np.array(dealt)
        points = 0.0
        for at, each in enumerate(releases):
            there = asked.stocks[each.on]
            lpa = np.where(way == at, there.bulk_litres * ABV / 100.0, 0.0)
            needed = each.limits.final_litres * 0.46
            if not needed * (1.0 + 1e-5) <= lpa.sum() <= needed * (1.0 + each.limits.window):
                points = np.inf
                break
            aim = np.array([line.aim for line in each.target.lines])
            off = lpa @ (there.estimate - aim) / needed
            outside = np.maximum(np.abs(off) - 2.0 * lpa.sum() / needed, 0.0)
            points += float(outside.sum())
        best = min(best, points)
    return best
