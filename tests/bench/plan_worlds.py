"""Invented stocks that several releases are planned from, over five years.

Five woods whose extract comes on with the years, twelve notes, casks of three sizes and up to 28
years, two per cent of the alcohol lost a year. Each year has three standing releases (8, 12 and 16
years old, the same target every year: what the usual casks of that age would give, with more of the
rare woods than there are) and two small ones of a tilted blend. `scale` is how much is asked of the
stock: 1 is about what it can give.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from analysis.array_types import Floats
from analysis.stock_plan import HouseLimits, PlannedRelease, PlanQuestion
from analysis.target import Target, TargetLine
from analysis.vatting import Drawing, Limits, MixingRule, Stock

NOTES = tuple(f"note {number:02d}" for number in range(1, 13))
WOODS = ("oak one", "oak two", "oak three", "oak four", "oak five")
TODAY = date(2027, 1, 4)
YEARS = 5
_ABV = 60.0
_STRENGTH = 46.0


@dataclass(frozen=True)
class Asked:
    """One release of the world: litres of pure alcohol, youngest age, tolerance and weight."""

    name: str
    year: int
    age: int
    lpa: float
    standing: bool


class World:
    """A stock with what is true of it, and what is asked of it."""

    def __init__(
        self,
        casks: int,
        seed: int = 0,
        scale: float = 1.0,
        *,
        sd: float = 0.0,
        panel_sd: float = 0.0,
        wide: float = 1.0,
    ) -> None:
        self.rng = rng = np.random.default_rng(seed)
        self.n, self.sd, self.panel_sd, self.wide = casks, sd, panel_sd, wide
        self.wood = rng.choice(5, casks, p=[0.45, 0.2, 0.15, 0.15, 0.05])
        self.age = np.minimum(rng.gamma(2.2, 4.0, casks), 28.0)
        self.base = rng.uniform(15.0, 40.0, len(NOTES))
        self.extract = rng.normal(0.0, 18.0, (5, len(NOTES)))
        self.years = rng.choice([4, 8, 12, 20], len(NOTES))
        self.own = rng.normal(0.0, 7.0, (casks, len(NOTES)))
        self.strength = 1.0 + 0.2 * rng.normal(size=(casks, len(NOTES)))
        sizes = rng.choice([110.0, 140.0, 270.0], casks, p=[0.5, 0.4, 0.1])
        self.lpa_now = sizes * np.exp(rng.normal(0.0, 0.06, casks)) * 0.98**self.age
        self.asked = tuple(self._asked(casks / 3000.0 * scale))
        self.targets = self._targets()

    def notes(self, years: float) -> Floats:
        """Scores of every cask so many years on."""
        grown = 1.0 - np.exp(-(self.age + years)[:, None] / self.years)
        scores = self.base + self.own + self.extract[self.wood] * self.strength * grown
        clipped: Floats = np.clip(scores, 0.0, 100.0)
        return clipped

    def _asked(self, scale: float) -> list[Asked]:
        return [
            Asked(
                f"{name} {TODAY.year + year}",
                year,
                age,
                lpa * (scale if standing else 1.0),
                standing,
            )
            for year in range(YEARS)
            for name, age, lpa, standing in (
                ("Eight", 8, 15000.0, True),
                ("Twelve", 12, 11000.0, True),
                ("Sixteen", 16, 6000.0, True),
                ("Small", 12, 900.0, False),
                ("Tiny", 10, 700.0, False),
            )
        ]

    def _targets(self) -> dict[str, Target]:
        kept: dict[int, Floats] = {}
        found = {}
        for asked in self.asked:
            on = asked.year + 0.5
            if asked.standing and asked.age not in kept:
                near = (self.age >= asked.age + 0.5) & (self.age < asked.age + 5.0)
                share = np.where(np.isin(self.wood[near], (3, 4)), 2.2, 0.7)
                mean = share @ self.notes(0.5)[near] / share.sum()
                kept[asked.age] = mean + self.rng.normal(0.0, 1.0, len(NOTES))
            aim = kept.get(asked.age) if asked.standing else None
            if aim is None:
                ready = np.flatnonzero(self.age + on >= asked.age)
                aim = self.notes(on)[self.rng.choice(ready, 8, replace=False)].mean(axis=0)
            tolerance = self.wide * (1.0 if asked.standing else 2.0)
            lines = (
                TargetLine(note, float(np.clip(score, 0.0, 100.0)), tolerance)
                for note, score in zip(NOTES, aim, strict=True)
            )
            found[asked.name] = Target(asked.name, tuple(lines))
        return found

    def question(
        self,
        *,
        house: HouseLimits = HouseLimits(),  # noqa: B008  (frozen)
        drawing: Drawing = Drawing.PART,
        kappa: float = 0.0,
        rule_sd: float = 0.0,
    ) -> PlanQuestion:
        """The question that a house would ask."""
        days = {year: date(TODAY.year + year, 7, 1) for year in range(YEARS)}
        releases = tuple(
            PlannedRelease(
                asked.name,
                days[asked.year],
                self.targets[asked.name],
                Limits(
                    litres=asked.lpa / _STRENGTH * 100.0,
                    abv_percent=_STRENGTH,
                    age_statement_years=asked.age,
                    drawing=drawing,
                    smallest_draw_litres=30.0,
                ),
                weight=1.5 if asked.standing else 1.0,
            )
            for asked in self.asked
        )
        stocks = {day: self.stock(year + 0.5, day) for year, day in days.items()}
        rule = MixingRule(rule_sd=rule_sd)
        return PlanQuestion(TODAY, stocks, releases, house, rule, kappa=kappa)

    def stock(self, years: float, day: date) -> Stock:
        """The casks as they will lie there."""
        names = [f"C{number:05d}" for number in range(self.n)]
        casks = pd.DataFrame(
            {
                "cask": names,
                "filling": [f"{name}/1" for name in names],
                "age_years": self.age + years,
                "abv": _ABV,
                "bulk_l": self.lpa_now * 0.98**years / _ABV * 100.0,
                "wood": [WOODS[wood] for wood in self.wood],
                "make": "Ember",
            }
        )
        scores = self.notes(years)
        panel = dict.fromkeys(NOTES, self.panel_sd)
        sd = np.full_like(scores, self.sd)
        return Stock(casks, NOTES, scores, sd, as_of=day, panel_sd=panel)
