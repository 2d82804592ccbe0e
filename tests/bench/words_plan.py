"""Rows: how often a release that a plan of the stock says to fail would have met its target.

Stocks of 210 casks whose true notes are known, four releases over four years, at most six casks
each; the program sees estimates that err as they say they do (or with heavy tails), plans, and each
release is then mixed of the true notes, with one error of the panel for all years.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from analysis.array_types import Floats
from analysis.stock_plan import PlannedRelease, PlanQuestion, plan_stock
from analysis.target import Target, TargetLine
from analysis.vatting import Drawing, Limits, MixingRule, Stock
from tests.bench.word_rates import Row

FAILS = "fails (a release of a plan)"
RULES = {
    FAILS: "quantity is missing, or the chance that all its lines are within tolerance is under 1 "
    "in 2; a release that lacks quantity is not counted here",
}
_TODAY = date(2027, 1, 4)
_NOTES = tuple(f"note {number}" for number in range(1, 6))
_CASKS, _YEARS = 210, 4
_TRUE_SD, _ERROR_SD, _PANEL_SD, _RULE_SD = 12.0, 6.0, 1.5, 1.0


@dataclass(frozen=True)
class Planned:
    """What was said of one release, and what became of it."""

    fails: bool
    met: bool


@dataclass(frozen=True)
class PlanWorld:
    """An invented stock with releases that are met by some plans and not by others.

    Attributes
    ----------
    skewed
        Whether most casks have little of a note and some much.
    tails
        Degrees of freedom of what scores are off; None for normal errors.
    """

    skewed: bool = False
    tails: int | None = None

    def __call__(self, seed: int) -> list[Planned]:
        """Draw what is true and what is known, plan, and mix what is true."""
        rng = np.random.default_rng([seed, _CASKS])
        shape = (_CASKS, len(_NOTES))
        spread = rng.gamma(1.5, 1.0, shape) - 1.5 if self.skewed else rng.normal(size=shape)
        true = 40.0 + _TRUE_SD * spread / (1.5**0.5 if self.skewed else 1.0)
        off = rng.normal(size=shape)
        if self.tails is not None:
            off = rng.standard_t(self.tails, shape) * np.sqrt((self.tails - 2.0) / self.tails)
        kept = _TRUE_SD**2 / (_TRUE_SD**2 + _ERROR_SD**2)
        known = 40.0 + kept * (true + _ERROR_SD * off - 40.0)
        litres = rng.uniform(150.0, 220.0, _CASKS)
        sd = np.full(shape, _ERROR_SD * kept**0.5)
        targets = _targets(known, rng)
        plan = plan_stock(_question(known, sd, litres, targets))
        panel = rng.normal(0.0, _PANEL_SD, len(_NOTES))
        found = []
        for each, target in zip(plan.releases, targets, strict=True):
            if each.mixture is None or each.missing > 0.0:
                continue
            rows = [int(part.cask[1:]) for part in each.mixture.parts]
            lpa = np.array([part.lpa for part in each.mixture.parts])
            mixed = lpa / lpa.sum() @ true[rows] + panel + rng.normal(0.0, _RULE_SD, len(_NOTES))
            off_by = np.abs(mixed - [line.aim for line in target.lines])
            met = bool(np.all(off_by <= [line.tolerance for line in target.lines]))
            found.append(Planned(each.fails, met))
        return found


def _targets(known: Floats, rng: np.random.Generator) -> list[Target]:
    """What some casks give, as sure to be had as chance will have it."""
    found = []
    for year in range(_YEARS):
        aim = known[rng.choice(_CASKS, 4, replace=False)].mean(axis=0)
        aim = np.clip(aim + rng.normal(0.0, 7.0, len(_NOTES)), 5.0, 95.0)
        wide = rng.uniform(3.0, 7.0)
        lines = (TargetLine(note, at, wide) for note, at in zip(_NOTES, aim, strict=True))
        found.append(Target(f"Release {year}", tuple(lines)))
    return found


def _question(known: Floats, sd: Floats, litres: Floats, targets: list[Target]) -> PlanQuestion:
    days = [date(_TODAY.year + year, 7, 1) for year in range(_YEARS)]
    limits = Limits(
        litres=900.0, abv_percent=46.0, drawing=Drawing.PART, smallest_draw_litres=60.0, casks_max=6
    )
    stocks = {}
    for year, day in enumerate(days):
        names = [f"C{row:03d}" for row in range(_CASKS)]
        casks = pd.DataFrame(
            {
                "cask": names,
                "filling": [f"{name}/1" for name in names],
                "age_years": 10.0 + year,
                "abv": 60.0,
                "bulk_l": litres,
                "wood": "oak",
                "make": "Ember",
            }
        )
        panel = dict.fromkeys(_NOTES, _PANEL_SD)
        stocks[day] = Stock(casks, _NOTES, known, sd, as_of=day, panel_sd=panel)
    releases = tuple(
        PlannedRelease(target.name, day, target, limits)
        for target, day in zip(targets, days, strict=True)
    )
    return PlanQuestion(_TODAY, stocks, releases, rule=MixingRule(rule_sd=_RULE_SD))


def _met_though_said_to_fail(planned: list[Planned]) -> Iterator[bool]:
    return (each.met for each in planned if each.fails)


def _missed_though_not(planned: list[Planned]) -> Iterator[bool]:
    return (not each.met for each in planned if not each.fails)


def _said_to_fail_and_missed(planned: list[Planned]) -> Iterator[bool]:
    return (each.fails for each in planned if not each.met)


def rows() -> list[Row]:
    """Both sides of the word and how often it is found, in three worlds."""
    worlds = {
        "normal": PlanWorld(),
        "skewed casks": PlanWorld(skewed=True),
        "heavy tails": PlanWorld(tails=4),
    }
    found = []
    for name, world in worlds.items():
        short = name.split(maxsplit=1)[0]
        for row, where, false, read in (
            ("fails-met", "said to fail, and would have met", True, _met_though_said_to_fail),
            ("missed", "not said to fail, and did not meet", True, _missed_though_not),
            ("found", "did not meet, and was said to fail", False, _said_to_fail_and_missed),
        ):
            found.append(
                Row(
                    f"plan-{row}-{short}",
                    FAILS,
                    f"{name}: {where}",
                    asked=0.5 if false else None,
                    false=false,
                    draw=world,
                    read=read,
                    draws=40,
                    most=160,
                    of="plans",
                )
            )
    return found
