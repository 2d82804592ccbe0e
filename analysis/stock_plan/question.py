"""What is asked of a plan of the stock: releases over the years, and what the house must keep."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from ..array_types import Names
from ..digits import in_digits
from ..target import Target
from ..vatting.limits import Limits
from ..vatting.mixing import MixingRule
from ..vatting.stock import Stock

CHOSEN_KAPPA = 1.5
"""Standard deviations of a vatting by which its band is drawn in when casks are chosen."""


@dataclass(frozen=True)
class PlannedRelease:
    """One release of the plan.

    Attributes
    ----------
    name
        Its name; no two of a plan are alike.
    on
        The day that its casks are moved to; one of the days of :attr:`PlanQuestion.stocks`. A plan
        by years takes one day a year.
    target
        Aims, tolerances and weights, points of the 0-100 line.
    limits
        Bottles, bottle size, strength, age statement, legal age, shares, number of casks, whole
        casks or parts: as of a single vatting. Its `bottling_on` is the day; give none.
    weight
        What a point outside its tolerance counts beside one of the other releases.
    kept_bottles
        Of the bottles in its limits those that are retained or the house's own: wherever bottles
        of it are told, these are taken off.
    """

    name: str
    on: date
    target: Target
    limits: Limits
    weight: float = 1.0
    kept_bottles: int = 0


@dataclass(frozen=True)
class MustStay:
    """What must still lie there at the end, so that the house does not eat its future.

    Attributes
    ----------
    litres
        Least litres, at 20 °C, as the casks hold them on the last day.
    column, values
        Casks that count by a record, such as ``make`` and ``("Ember",)``; every cask without.
    age_low, age_high
        Their age on the last day, years: at least `age_low` and below `age_high`.
    """

    litres: float
    column: str | None = None
    values: tuple[str | float, ...] = ()
    age_low: float = 0.0
    age_high: float = float("inf")

    @property
    def words(self) -> str:
        """What must stay, as a person would say it."""
        kind = f" of {self.column} {' or '.join(str(value) for value in self.values)}"
        ages = f", {in_digits(self.age_low, 'g')} years and older" if self.age_low > 0 else ""
        if self.age_high < float("inf"):
            ages = (
                f", {in_digits(self.age_low, 'g')} to below "
                f"{in_digits(self.age_high, 'g')} years old"
            )
        return f"{in_digits(self.litres, ',.0f')} L{kind if self.column else ''}{ages}"


@dataclass(frozen=True)
class HouseLimits:
    """What holds for all releases together.

    Attributes
    ----------
    most_litres_a_year
        Most bulk litres that may be drawn in a calendar year for the releases of the plan; None
        asks nothing.
    stay
        What must be left on the last day.
    drawn_already
        By calendar year, litres of releases of the plan that take their own casks by now: they
        count against the year, and are chosen no more.
    """

    most_litres_a_year: float | None = None
    stay: tuple[MustStay, ...] = ()
    drawn_already: Mapping[int, float] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class PlanQuestion:
    """Everything that a plan of the stock is made from.

    Attributes
    ----------
    as_of
        Today: no release lies before it.
    stocks
        By day, the casks as they will lie there: litres, strength, age and notes moved to it. All
        have the same casks in the same rows. A filling that is expected is a row like any other,
        with 0 litres on the days before it is filled; the column `expected` of the casks frame
        marks it. Source k of `loadings` and of `note_loadings` is the same error on every day: the
        shared errors are drawn once for all years. So is the panel's (`panel_sd`).
    releases
        In any order.
    house
        Limits over all of them.
    rule
        How notes mix.
    litres_only
        By day, why no notes are foretold for it. A release on such a day is planned by litres,
        age and wood only, and has no chance.
    kappa
        By how many standard deviations of the vatting each band is drawn in: the best of thousands
        of casks is chosen among estimates that err. 0 takes estimates for the truth.
    """

    as_of: date
    stocks: Mapping[date, Stock]
    releases: tuple[PlannedRelease, ...]
    house: HouseLimits = HouseLimits()
    rule: MixingRule = field(default_factory=MixingRule)
    litres_only: Mapping[date, str] = field(default_factory=dict)
    kappa: float = CHOSEN_KAPPA

    @cached_property
    def by_date(self) -> tuple[PlannedRelease, ...]:
        """The releases in the order of their days; on one day as they were given."""
        return tuple(sorted(self.releases, key=lambda release: release.on))

    @cached_property
    def last_day(self) -> date:
        """The last day that there is a stock of; what must stay is counted on it."""
        return max(self.stocks)

    @cached_property
    def casks(self) -> Names:
        """Cask numbers, in the order of the rows of every stock."""
        return self.stocks[self.last_day].names
