"""A set of casks and litres with everything that can be said of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import isfinite
from typing import Any

import numpy as np
import pandas as pd

from ..ageing.cover import COVER_NOTES, Cover
from ..array_types import Flags, Floats, Ints
from ..as_json import AsJson
from ..bar_words import said
from ..bars import BY_NAME, Bar, Purpose, forbidding
from ..digits import in_digits
from .chance import Expectation, Line, expect
from .eligible import ages_at_bottling, old_gauges
from .limits import Limits
from .old_draws import deciding_draws
from .pour import Poured, ShareReached, pour, shares_reached
from .stock import Stock
from .task import Task

_HAIR = 1e-6


@dataclass(frozen=True)
class PlanPart:
    """What one cask gives.

    Attributes
    ----------
    litres, lpa
        Bulk at 20 °C and pure alcohol taken.
    share_lpa, share_bulk
        Share in the vatting, as fractions; the first is what counts in the nose.
    litres_left
        What stays in the cask, reserved litres among it.
    age_years
        Age on the day of bottling; None if not recorded.
    gauge_age_years
        How old the figures for its litres and strength are; None if not known.
    foretold
        Whether nobody nosed it: its notes are foretold from wood, fill, age and peat.
    litres_low, litres_high, abv_low, abv_high
        Ends that hold litres and strength 90 times in 100 on the day; litres that are measured
        as they are drawn are sure.
    drawn_on, years_moved, moved
        When the draw that was nosed was drawn, over how many years its notes were moved, and how
        they could be; None where they were not.
    decides
        Whether the plan hangs on what has become of its notes since.
    note
        What to know before it is opened, such as an old regauge; None if nothing.
    """

    cask: str
    filling: str
    litres: float
    lpa: float
    share_lpa: float
    share_bulk: float
    abv_percent: float
    age_years: float | None
    litres_left: float
    gauge_age_years: float | None
    note: str | None
    foretold: bool = False
    litres_low: float | None = None
    litres_high: float | None = None
    abv_low: float | None = None
    abv_high: float | None = None
    drawn_on: date | None = None
    years_moved: float | None = None
    moved: str | None = None
    decides: bool = False


@dataclass(frozen=True)
class Mixture(AsJson):
    """Casks and litres, what they come to, and what is expected of them."""

    parts: tuple[PlanPart, ...]
    poured: Poured
    expectation: Expectation
    shares: tuple[ShareReached, ...]

    json_keys = (
        *("parts", ("poured", "**"), "prediction", ("told_probability", "probability")),
        ("told_probability_se", "probability_se"),
        *("worst_descriptor", "shares"),
    )

    @property
    def prediction(self) -> tuple[Line, ...]:
        """What is expected on each line of the target."""
        return self.expectation.lines

    @property
    def worst_descriptor(self) -> str:
        """The line most likely out of its tolerance."""
        return self.expectation.worst_descriptor

    @property
    def casks(self) -> tuple[str, ...]:
        """The casks, in the order of the parts."""
        return tuple(part.cask for part in self.parts)

    @property
    def foretold(self) -> tuple[str, ...]:
        """The casks among them that nobody nosed."""
        return tuple(part.cask for part in self.parts if part.foretold)

    @property
    def probability(self) -> float:
        """Chance that every line is within tolerance."""
        return self.expectation.probability

    @property
    def probability_se(self) -> float:
        """Standard error of that chance by simulation alone."""
        return self.expectation.probability_se

    @property
    def told_probability(self) -> float | None:
        """The chance; None where no notes are foretold."""
        return self.probability if isfinite(self.probability) else None

    @property
    def told_probability_se(self) -> float | None:
        """Its standard error; None where there is no chance."""
        return self.probability_se if isfinite(self.probability_se) else None


def surely_fills(mixture: Mixture, limits: Limits) -> bool:
    """Whether the number that is safe to print is at least what was asked for."""
    return _is_sure(mixture.poured, limits)


def pour_fills(task: Task, rows: Ints, litres: Floats) -> bool:
    """The same of casks (rows of the stock) and litres of each."""
    return _is_sure(pour(task.stock, task.limits, rows, litres), task.limits)


def _is_sure(poured: Poured, limits: Limits) -> bool:
    return poured.sure_litres >= limits.final_litres * (1.0 - _HAIR)


def make_mixture(
    task: Task, rows: Ints, litres: Floats, expectation: Expectation | None = None
) -> Mixture:
    """Say everything of some litres of some casks, largest share first.

    `expectation` is what is expected of them where that was reckoned already.
    """
    lpa = litres * task.stock.abv_percent[rows]
    order = np.lexsort((task.stock.names[rows].astype(str), -lpa))
    rows, litres = rows[order], litres[order]
    expectation = expectation or expect(task, rows, litres)
    decides = deciding_draws(task, rows, litres, expectation)
    return Mixture(
        parts=_parts(task, rows, litres, decides),
        poured=pour(task.stock, task.limits, rows, litres),
        expectation=expectation,
        shares=shares_reached(task.stock, task.limits, rows, litres),
    )


def _parts(task: Task, rows: Ints, litres: Floats, decides: Flags) -> tuple[PlanPart, ...]:
    stock = task.stock
    abv = stock.abv_percent[rows]
    lpa = litres * abv / 100.0
    ages = ages_at_bottling(stock, task.limits)[rows]
    left = np.maximum(stock.bulk_litres[rows] - litres, 0.0)
    notes = _notes(task, rows, decides)
    known = [_known(stock, int(row), float(given)) for row, given in zip(rows, litres, strict=True)]
    fillings, gauge_age = stock.text("filling")[rows], stock.number("gauge_age_years")[rows]
    return tuple(
        PlanPart(
            cask=str(stock.names[row]),
            filling=str(fillings[k]),
            litres=float(litres[k]),
            lpa=float(lpa[k]),
            share_lpa=float(lpa[k] / lpa.sum()),
            share_bulk=float(litres[k] / litres.sum()),
            abv_percent=float(abv[k]),
            age_years=None if pd.isna(ages[k]) else float(ages[k]),
            litres_left=float(left[k]),
            gauge_age_years=None if pd.isna(gauge_age[k]) else float(gauge_age[k]),
            note=notes[k],
            foretold=bool(stock.foretold[row]),
            decides=bool(decides[k]),
            **known[k],
        )
        for k, row in enumerate(rows)
    )


def _known(stock: Stock, row: int, litres: float) -> dict[str, Any]:
    """How well litres and strength of a part are known, and how its notes came to the day."""
    casks = stock.casks
    found: dict[str, Any] = {}
    for name in ("abv_low", "abv_high", "drawn_on", "years_moved", "moved"):
        if name in casks.columns:
            value: Any = casks[name].iat[row]
            found[name] = None if pd.isna(value) else value
    if "bulk_low" in casks.columns:
        emptied = litres >= stock.available_litres[row] - _HAIR
        ends = stock.number("bulk_low")[row], stock.number("bulk_high")[row]
        held = float(stock.bulk_litres[row])
        low, high = (litres * end / held if emptied else litres for end in ends)
        found |= {"litres_low": low, "litres_high": high}
    return found


def _notes(task: Task, rows: Ints, decides: Flags) -> list[str | None]:
    """What the records hold against a cask that is used all the same."""
    stock, limits = task.stock, task.limits
    gauge_age = stock.number("gauge_age_years")
    old = old_gauges(stock, limits)
    found: list[str | None] = []
    years, moved = stock.number("years_moved"), stock.text("moved")
    for row, old_draw in zip(rows, decides, strict=True):
        notes = ["foretold, never nosed"] if stock.foretold[row] else []
        if old_draw:
            notes.append(f"drawn {in_digits(years[row], '.1f')} years before: decides this plan")
        if moved[row] and (cover := Cover(moved[row])) in COVER_NOTES:
            notes.append(COVER_NOTES[cover])
        if old[row]:
            notes.append(
                "litres and strength are from a regauge "
                f"{in_digits(gauge_age[row], '.1f')} years old"
            )
        against = forbidding(stock.bars[row], Purpose.VAT)
        notes += [said(each) for each in against if each.bar in BY_NAME]
        # The vat must have the strength; that a part has not is said all the same.
        notes += [said(each) for each in stock.bars[row] if each.bar is Bar.STRENGTH]
        found.append("; ".join(notes) or None)
    return found
